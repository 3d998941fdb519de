"""The options that every command takes, as one frozen value."""

import functools
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click


@dataclass(frozen=True, slots=True)
class Settings:
    """What the user set for this call. `own_rows` is a file of reference rows that override ours."""

    ledger: str
    as_json: bool
    seed: int
    today: date
    own_rows: Path | None

    @property
    def ledger_shown(self) -> str:
        """The ledger as it may be shown: without a password."""
        return re.sub(r"//[^@/]*@", "//…@", self.ledger)


def common_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the common options to a command and hand them over as `settings`."""

    @click.option(
        "--ledger",
        envvar="RAMET_LEDGER",
        default="ramet.db",
        show_default=True,
        metavar="PATH|URL",
        help="The ledger to use (environment: RAMET_LEDGER).",
    )
    @click.option("--json", "as_json", is_flag=True, help="Machine-readable answer on standard output.")
    @click.option("--seed", type=int, default=1, show_default=True, help="Seed of every random draw.")
    @click.option(
        "--today",
        type=click.DateTime(["%Y-%m-%d"]),
        default=None,
        metavar="DATE",
        help="Plan as if it were this day (default: the machine's date).",
    )
    @click.option(
        "--own-rows",
        type=click.Path(path_type=Path),
        default=None,
        help="CSV of reference rows that replace ours.",
    )
    @functools.wraps(command)
    def wrapped(
        *, ledger: str, as_json: bool, seed: int, today: datetime | None, own_rows: Path | None, **rest: Any
    ) -> None:
        day = today.date() if today is not None else date.today()
        command(settings=Settings(ledger, as_json, seed, day, own_rows), **rest)

    return wrapped

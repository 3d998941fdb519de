"""What all verbs of `ramet record` share: who and when, words said, sizes as typed, and the answer."""

import functools
import json
import re
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
    from ramet.ledger.store import Ledger
    from ramet.reference.tables import Reference
    from ramet.services.recording.offspring import Child
    from ramet.services.recording.recorded import Recorded, Scribe
    from ramet.services.recording.stock_look import Size

SIZE_HELP = "LENGTH[xWIDTH[xHEIGHT]][/HEADS] in mm, such as 46, 46x40x30, 30/2 or /14"
_SIZE = re.compile(r"(?P<sides>[0-9.]+(?:x[0-9.]+){0,2})?(?:/(?P<heads>[0-9]+))?")


@dataclass(frozen=True, slots=True)
class Hand:
    """The settings of a call, with who enters, for which day, and the words that were said."""

    settings: Settings
    by: str
    on: date | None
    said: tuple[str, ...]

    @property
    def scribe(self) -> "Scribe":
        """Who enters, as the services take it."""
        from ramet.services.recording.recorded import Scribe

        return Scribe(self.by, self.settings.today, self.on, None, frozenset(self.said))

    def reference(self) -> "Reference":
        """Load the reference tables."""
        from ramet.reference.tables import load_reference

        return load_reference(self.settings.own_rows)

    def run(self, verb: "Callable[[Ledger], Recorded]") -> None:
        """Open the ledger, do it, and show what came of it. Ends with 1 when a word is missing."""
        from ramet.ledger.store import open_ledger

        with open_ledger(self.settings.ledger) as ledger:
            recorded = verb(ledger)
        _show(recorded, self.settings.as_json)


def recording_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options of every verb and hand them over as `hand`."""

    @click.option(
        "--on",
        type=click.DateTime(["%Y-%m-%d"]),
        default=None,
        metavar="DATE",
        help="When it happened (default: today).",
    )
    @click.option("--say", "said", multiple=True, metavar="WORD", help="Let through what needs this word.")
    @click.option("--by", default="me", show_default=True, envvar="RAMET_BY", help="Who enters it.")
    @common_options
    @functools.wraps(command)
    def wrapped(settings: Settings, on: datetime | None, said: tuple[str, ...], by: str, **rest: Any) -> None:
        command(hand=Hand(settings, by, None if on is None else on.date(), said), **rest)

    return wrapped


def size_of(text: str) -> "Size":
    """Read a size as typed."""
    from ramet.services.recording.stock_look import Size

    found = _SIZE.fullmatch(text.replace(" ", "").lower().replace("×", "x"))
    if found is None or not text.strip():
        raise click.BadParameter(f"found “{text}”; expected {SIZE_HELP}")
    try:
        sides = [float(side) for side in (found["sides"] or "").split("x") if side]
    except ValueError:
        raise click.BadParameter(f"found “{text}”; expected {SIZE_HELP}") from None
    length, width, height = (*sides, None, None, None)[:3]
    return Size(length, width, height, int(found["heads"]) if found["heads"] else None)


def child_of(text: str, tank: str | None, mounted_on: str | None) -> "Child":
    """Read a new piece as typed: a size, or NAME=SIZE."""
    from ramet.services.recording.offspring import Child
    from ramet.services.recording.stock_look import Where

    name, size = text.rsplit("=", 1) if "=" in text else (None, text)
    return Child(size_of(size), name, mounted_on, Where(tank))


def fields_of(pairs: tuple[str, ...]) -> dict[str, str]:
    """Read FIELD=VALUE words."""
    if bad := [pair for pair in pairs if "=" not in pair]:
        raise click.BadParameter(f"found “{bad[0]}”; expected FIELD=VALUE, such as length_mm=46")
    split = (pair.split("=", 1) for pair in pairs)
    return {name.strip(): value for name, value in split}


def _show(recorded: "Recorded", as_json: bool) -> None:
    if as_json:
        values = asdict(recorded) | {
            "problems": [str(problem) for problem in recorded.problems],
            "done": recorded.done,
        }
        click.echo(json.dumps(values, ensure_ascii=False, indent=2))
    for caution in recorded.cautions if recorded.done else ():
        click.echo(f"note: {caution.text}", err=True)
    for problem in recorded.problems:
        click.echo(str(problem), err=True)
    for ask in recorded.asks:
        click.echo(f"not entered: {ask.text}. Say it with --say {ask.word}", err=True)
    if recorded.done and not as_json:
        click.echo(f"{recorded.verb}: {', '.join(recorded.pieces) or 'entered'} (entry {recorded.version})")
    if not recorded.done:
        sys.exit(2 if recorded.problems else 1)

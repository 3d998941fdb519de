"""`ramet outlook`: what each strain can give in the weeks ahead, and how full the tanks get."""

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options
from ramet.cli.quantity_option import in_unit

if TYPE_CHECKING:
    from ramet.services.growing.outlook import Outlook
    from ramet.services.growing.tank_space import TankSpace

_SHOWN_WEEKS = (0, 2, 4, 6, 8, 10, 13, 16, 19, 22, 25)


@click.command("outlook")
@click.option("--weeks", type=click.IntRange(1, 104), default=26, show_default=True, help="How far ahead.")
@click.option(
    "--size",
    "size_mm",
    default=None,
    metavar="LENGTH",
    callback=in_unit("mm"),
    help="Least length, in mm or with a unit (default: the least piece of each kind).",
)
@common_options
def command(settings: Settings, weeks: int, size_mm: float | None) -> None:
    """Tell what each strain can give in the weeks ahead, whole and by cutting, and how full the tanks get.

    Example: ramet outlook --size "50 mm" --json
    """
    from ramet.ledger.store import open_ledger
    from ramet.reference.tables import load_reference
    from ramet.services.growing.outlook import outlook
    from ramet.services.growing.tank_space import tank_space

    reference = load_reference(settings.own_rows)
    with open_ledger(settings.ledger) as book:
        found = outlook(book, reference, settings.today, size_mm=size_mm, weeks=weeks)
        space = tank_space(book, reference, settings.today, weeks=weeks)
    click.echo(_as_json(found, space) if settings.as_json else "\n".join(_as_text(found, space)))


def _as_json(found: "Outlook", space: "tuple[TankSpace, ...]") -> str:
    from dataclasses import asdict

    values = {"format": "ramet-outlook/1", **asdict(found), "tanks": [asdict(one) for one in space]}
    return json.dumps(values, ensure_ascii=False, indent=2, default=str)


def _as_text(found: "Outlook", space: "tuple[TankSpace, ...]") -> Iterator[str]:
    shown = [week for week in _SHOWN_WEEKS if week < len(found.weeks)]
    wide = max([len(one.strain) for one in found.strains], default=6)
    yield "Pieces that can travel, whole + by cutting, in the week from:"
    yield " " * wide + "".join(f"{found.weeks[week]:%d %b}".rjust(10) for week in shown)
    for one in found.strains:
        cells = (f"{one.whole[week]}+{one.by_cutting[week]}".rjust(10) for week in shown)
        yield one.strain.ljust(wide) + "".join(cells)
    yield "\nGround that corals cover in each tank (low to high), if nothing leaves:"
    for tank in space:
        yield from _tank(tank)


def _tank(tank: "TankSpace") -> Iterator[str]:
    now, then = tank.covered_cm2[0], tank.covered_cm2[-1]
    room = (
        "no floor on record (ramet record floor)"
        if tank.room_cm2 is None
        else f"room {tank.room_cm2:.0f} cm²"
    )
    full = "" if tank.full_on is None else f"; full from {tank.full_on}"
    yield (
        f"  {tank.system} {tank.tank}: {tank.pieces} pieces, {now.typical:.0f} cm² now, "
        f"{then.typical:.0f} ({then.low:.0f}–{then.high:.0f}) cm² on {tank.days[-1]}; {room}{full}"
    )

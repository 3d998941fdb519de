"""`ramet ready`: what can travel on a day, whole or by cutting, and why the rest can't."""

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from ramet.cli.day_option import day_from
from ramet.cli.options import Settings, common_options
from ramet.cli.quantity_option import in_unit

if TYPE_CHECKING:
    from ramet.services.growing.readiness import Readiness, StrainReady


@click.command("ready")
@click.option("--on", "on", default=None, metavar="DAY", help="The day to travel: 2027-03-01, +10d or +3w.")
@click.option("--strain", default=None, help="One strain only.")
@click.option(
    "--size",
    "size_mm",
    default=None,
    metavar="LENGTH",
    callback=in_unit("mm"),
    help="Least length, in mm or with a unit (default: the least piece of each kind).",
)
@common_options
def command(settings: Settings, on: str | None, strain: str | None, size_mm: float | None) -> None:
    """Tell how many pieces of each strain can travel on a day, whole or cut by then.

    With the reasons why the others can't, and when they could. Ends with 1 when nothing is ready.

    Example: ramet ready --on 2027-03-01 --size "2 in"
    """
    from ramet.ledger.store import open_ledger
    from ramet.reference.tables import load_reference
    from ramet.services.growing.readiness import readiness

    day = settings.today if on is None else day_from(on, settings.today, "--on")
    if day < settings.today:
        raise click.BadParameter(f"found {day}; expected today or later", param_hint="--on")
    if size_mm is not None and not 0 < size_mm <= 2000:
        raise click.BadParameter(f"found {size_mm:g} mm; expected above 0 up to 2000 mm", param_hint="--size")
    with open_ledger(settings.ledger) as book:
        found = readiness(
            book, load_reference(settings.own_rows), settings.today, day, size_mm=size_mm, strain=strain
        )
    if strain is not None and not found.strains:
        raise click.BadParameter(f"found “{strain}”; expected a strain in stock", param_hint="--strain")
    click.echo(_as_json(found) if settings.as_json else "\n".join(_as_text(found)))
    if not found.whole + found.by_cutting:
        raise SystemExit(1)


def _as_json(found: "Readiness") -> str:
    from dataclasses import asdict

    totals = {"whole": found.whole, "by_cutting": found.by_cutting}
    values = {"format": "ramet-ready/1", **asdict(found), **totals}
    return json.dumps(values, ensure_ascii=False, indent=2, default=str)


def _as_text(found: "Readiness") -> Iterator[str]:
    size = "the least piece of each kind" if found.size_mm is None else f"{found.size_mm:.0f} mm"
    yield f"Ready on {found.on} ({size}): {found.whole} pieces whole, and up to {found.by_cutting} by cutting"
    for one in found.strains:
        yield ""
        yield from _strain(one)


def _strain(one: "StrainReady") -> Iterator[str]:
    band = "" if one.whole_slow == one.whole_fast else f" ({one.whole_slow} to {one.whole_fast} by pace)"
    sizes = ", ".join(f"{count} {name}" for name, count in one.by_size.items())
    yield (
        f"{one.strain} ({one.taxon}): {one.whole} of {one.in_stock} whole{band}"
        + (f": {sizes}" if sizes else "")
    )
    if one.cut is not None:
        mothers = ", ".join(one.cut.mothers)
        yield (
            f"    up to {one.cut.pieces} of {one.cut.size_mm:.0f} mm by cutting {mothers}, "
            f"by {one.cut.cut_by} at the latest"
        )
    for reason in one.not_ready:
        names = ", ".join(reason.examples) + (" …" if reason.pieces > len(reason.examples) else "")
        yield f"    {reason.pieces} not ({names}): {reason.text}; {reason.ready_if}"

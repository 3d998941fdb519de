"""`ramet growth`: how a piece grows, when it reaches a size, and where the rate comes from."""

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options
from ramet.cli.quantity_option import in_unit

if TYPE_CHECKING:
    from datetime import date

    from ramet.domain.band import Band
    from ramet.services.growing.growth_report import GrowthReport


@click.command("growth")
@click.argument("piece")
@click.option(
    "--reach",
    "reach_mm",
    default=None,
    metavar="LENGTH",
    callback=in_unit("mm"),
    help="Tell when it gets this long (mm, or with a unit).",
)
@click.option("--heads", type=click.IntRange(1, 10_000), default=None, help="Tell when it has so many heads.")
@common_options
def command(settings: Settings, piece: str, reach_mm: float | None, heads: int | None) -> None:
    """Tell how PIECE grows: its strain's rate, its size in the months ahead, and when it reaches a size.

    The rate is that of its genus and form, corrected by your own pairs of readings of the strain.

    Example: ramet growth HB-01 --reach "8 cm"
    """
    from ramet.ledger.store import open_ledger
    from ramet.reference.tables import load_reference
    from ramet.services.growing.growth_report import growth_report

    with open_ledger(settings.ledger) as book:
        found = growth_report(
            book,
            load_reference(settings.own_rows),
            settings.today,
            piece,
            reach_mm=reach_mm,
            reach_heads=heads,
        )
    click.echo(_as_json(found) if settings.as_json else "\n".join(_as_text(found)))


def _as_json(found: "GrowthReport") -> str:
    from dataclasses import asdict

    return json.dumps(
        {"format": "ramet-growth/1", **asdict(found)}, ensure_ascii=False, indent=2, default=str
    )


def _as_text(found: "GrowthReport") -> Iterator[str]:
    yield f"{found.piece}: {found.strain}, {found.taxon}, {found.form}"
    if found.pieces_read_twice:
        own = f"corrected by {found.pieces_read_twice} of your pieces that were read twice"
    else:
        own = "no piece of the strain was read twice yet"
    default = " (a default of its class)" if found.is_default else ""
    yield f"rate of the strain: {_number(found.rate)} {found.unit}; {own}"
    yield f"    the table says {_number(found.table_rate)}{default}: {found.source}"
    yield f"sizes are of {found.sized_on}; growth counts from {found.growing_from}"
    yield "\n              length mm (low–high)    heads          live area cm²"
    for one in found.ahead:
        heads = "" if one.heads is None else _number(one.heads)
        yield f"  {one.on}  {_number(one.length_mm):<22}  {heads:<13}  {_number(one.tissue_cm2)}"
    if found.doubling_d is not None:
        yield f"\nits live area doubles in {_number(found.doubling_d)} days"
    if found.reaches is not None:
        yield (
            f"reaches that size: {_day(found.reaches.expected)} expected; "
            f"{_day(found.reaches.fast)} if it grows fast, {_day(found.reaches.slow)} if slowly"
        )
    if found.weights is not None:
        yield from _weights(found)


def _weights(found: "GrowthReport") -> Iterator[str]:
    weights = found.weights
    if weights is None:
        return
    last = weights.weighings[-1]
    times = len(weights.weighings)
    yield f"\nweighed in water {times} times; {last.skeleton_g:.2f} g of skeleton on {last.on}"
    if weights.rate_d is None or weights.doubling_d is None:
        yield "    no growth by weight yet"
        return
    yield (
        f"    {weights.gained_g:.2f} g gained in {weights.days} d: {weights.rate_d:.4f} a day, doubling in "
        f"{weights.doubling_d:.0f} d, about {weights.calcification_mg_cm2_d:.1f} mg/cm²/d of contour"
    )


def _number(band: "Band") -> str:
    return f"{_figure(band.typical)} ({_figure(band.low)}–{_figure(band.high)})"


def _figure(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _day(day: "date | None") -> str:
    return "not within ten years" if day is None else str(day)

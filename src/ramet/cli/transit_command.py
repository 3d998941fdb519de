"""`ramet transit`: forecast a packed box or a single bag."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
    from ramet.formats.transit import TransitBag, TransitResult


@click.command("transit")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--scenarios",
    type=click.IntRange(0, 65536),
    default=0,
    show_default=True,
    help="Add percentiles over this many draws of what is uncertain.",
)
@common_options
def command(settings: Settings, file: Path, scenarios: int) -> None:
    """Forecast a packed box or a single bag from a trial FILE (TOML), without a ledger.

    Exits with 1 when a bag breaks a limit before the last hour of the record.

    \b
    Example: ramet transit box.toml --scenarios 512
    """
    from ramet.reference.tables import load_reference
    from ramet.services.transit import run_transit

    result = run_transit(load_reference(settings.own_rows), file, scenarios, settings.seed)
    click.echo(result.model_dump_json() if settings.as_json else _as_text(result))
    if not all(bag.holds_to_end for bag in result.bags):
        raise SystemExit(1)


def _as_text(result: "TransitResult") -> str:
    last = result.hours[-1]
    lines = [f"{result.name or 'Transit trial'}: {last:g} h, every parameter at its typical value", ""]
    for box in result.boxes:
        lines.append(
            f"{box.id}: air {box.air_c[0]:.1f} °C at the start, {min(box.air_c):.1f} to "
            f"{max(box.air_c):.1f}, {box.air_c[-1]:.1f} at the end"
        )
    for place, bag in enumerate(result.bags):
        lines += ["", *_bag_lines(bag, last)]
        if result.percentiles is not None:
            lines.append("  " + _percentile_line(result, place))
    return "\n".join(lines)


def _bag_lines(bag: "TransitBag", last: float) -> list[str]:
    hold = f"holds to the end (> {last:g} h)" if bag.holds_to_end else f"holds {bag.hold_h:.1f} h"
    first = next((one for one in bag.limits if one.code == bag.first_limit), None)
    because = "" if first is None else f"; first broken: {_limit_words(first.code)}"
    where = "" if bag.box is None else f" in {bag.box}"
    lines = [f"{bag.id}{where}: {hold}{because}"]
    lines += [
        f"  temperature {_range(bag.temperature_c)} °C, {bag.temperature_c[-1]:.1f} at the end",
        f"  oxygen      {_range(bag.oxygen_mg_l)} mg/L, {bag.oxygen_mg_l[-1]:.1f} at the end",
        f"  pH (total)  {_range(bag.ph_total, 2)}, {bag.ph_total[-1]:.2f} at the end",
        f"  un-ionised ammonia on opening {bag.opened.unionised_ammonia_umol_l[-1]:.2f} µmol/L",
    ]
    cautions = [one for one in bag.limits if not one.ends_hold and one.at_h is not None]
    lines += [f"  caution at {one.at_h:.1f} h: {_limit_words(one.code)}" for one in cautions]
    lines += [f"  caution: {text}" for text in bag.cautions]
    if bag.defaults_used:
        lines.append("  class defaults: " + "; ".join(bag.defaults_used))
    return lines


def _percentile_line(result: "TransitResult", place: int) -> str:
    found = result.percentiles
    assert found is not None
    holds = [one.bags[place].hold_h for one in (found.p05, found.p50, found.p95)]
    last = result.hours[-1]
    words = [f"> {last:g}" if hold >= last else f"{hold:.1f}" for hold in holds]
    return (
        f"over {found.scenarios} scenarios it holds {words[0]} / {words[1]} / {words[2]} h (5th, 50th, 95th "
        f"percentile); it hangs most on {found.hangs_on[place]}"
    )


def _limit_words(code: str) -> str:
    return code.replace("_", " ")


def _range(values: tuple[float, ...], places: int = 1) -> str:
    return f"{min(values):.{places}f} to {max(values):.{places}f}"

"""`ramet water`: the properties of one seawater."""

import json
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options
from ramet.cli.quantity_option import in_unit, salinity_or_gravity

if TYPE_CHECKING:
    from ramet.services.water import WaterReport

_SCALE_NOTE = (
    "pH is on the total scale. A probe set with NBS buffers reads about 0.13 higher: say --ph-scale nbs."
)


@click.command("water")
@click.option("--temperature", callback=in_unit("c"), required=True, help="°C, or text such as “77 °F”.")
@click.option(
    "--salinity", callback=salinity_or_gravity, required=True, help="Practical salinity, or “1.026 sg” (t/t)."
)
@click.option("--ph", type=float, default=None, help="pH, by default on the total scale.")
@click.option(
    "--ph-scale",
    type=click.Choice(["total", "nbs"]),
    default="total",
    show_default=True,
    help="nbs: as read on a probe set with buffers of pH 7 and 10.",
)
@click.option(
    "--alkalinity", callback=in_unit("meq_l"), default=None, help="meq/L, or text such as “6.4 dKH”."
)
@common_options
def command(
    settings: Settings,
    temperature: float,
    salinity: tuple[float, bool],
    ph: float | None,
    ph_scale: str,
    alkalinity: float | None,
) -> None:
    """Show the properties of a seawater, each with its source and range.

    Without pH and alkalinity: density, heat capacity and oxygen at saturation. With pH also the share of
    ammonia that is poisonous; with both the carbonate system.

    \b
    Example: ramet water --temperature 25 --salinity 35 --ph 8.1 --alkalinity 2.3
    """
    from ramet.services.water import describe_water, salinity_of, total_ph

    practical = salinity_of(*salinity, temperature)
    if ph is not None and ph_scale == "nbs":
        ph = total_ph(ph, temperature, practical)
    report = describe_water(temperature, practical, ph, alkalinity)
    click.echo(_as_json(report) if settings.as_json else _as_text(report))


def _as_json(report: "WaterReport") -> str:
    values = {
        one.key: {
            "value": one.value,
            "unit": one.unit,
            "source": one.source,
            "temperature_range_c": one.temperature_range_c,
            "salinity_range": one.salinity_range,
        }
        for one in report.values
    }
    head = {
        "format": "ramet-water/1",
        "temperature_c": report.temperature_c,
        "salinity": report.salinity,
        "ph_total": report.ph_total,
        "alkalinity_meq_l": report.alkalinity_meq_l,
    }
    return json.dumps({**head, "values": values}, ensure_ascii=False, indent=2)


def _as_text(report: "WaterReport") -> str:
    given = [f"{report.temperature_c:.2f} °C", f"salinity {report.salinity:.2f}"]
    if report.ph_total is not None:
        given.append(f"pH {report.ph_total:.2f}")
    if report.alkalinity_meq_l is not None:
        from ramet.domain.quantities import MEQ_L_PER_DKH

        dkh = report.alkalinity_meq_l / MEQ_L_PER_DKH
        given.append(f"alkalinity {report.alkalinity_meq_l:.3f} meq/L ({dkh:.2f} dKH)")
    lines = ["Seawater at " + ", ".join(given), ""]
    wide = max(len(one.words) for one in report.values)
    sources: list[str] = []
    for one in report.values:
        unit = "" if one.unit == "1" else one.unit
        low, high = one.temperature_range_c
        fresh, salt = one.salinity_range
        source = f"{one.source}; holds for {low:g} to {high:g} °C and S {fresh:g} to {salt:g}"
        if source not in sources:
            sources.append(source)
        number = sources.index(source) + 1
        lines.append(f"  {one.words:<{wide}}  {one.value:>10.5g} {unit:<9} [{number}]")
    lines += ["", *(f"  [{number}] {source}" for number, source in enumerate(sources, start=1))]
    if report.ph_total is not None:
        lines += ["", _SCALE_NOTE]
    return "\n".join(lines)

"""`ramet tank`: hold a list of corals against a receiving tank, without any shipment."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
    from ramet.formats.tank_report import BandValue, TankReport
    from ramet.services.tank_list import TankAnswer


@click.command("tank")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option(
    "--stock",
    "stock",
    type=click.Path(path_type=Path),
    required=True,
    metavar="LIST",
    help="CSV or XLSX: taxon and length_mm at least; form, width_mm, height_mm, heads, par, count if known.",
)
@common_options
def command(settings: Settings, file: Path, stock: Path) -> None:
    """Hold a list of corals against a receiving tank: minerals, biofilter, light, cautions.

    FILE is TOML with a [tank] table; a shipment file will do. Exit code 1 when the tank can't take the
    list on day one.

    Example: ramet tank tank.toml --stock corals.csv
    """
    from ramet.reference.tables import load_reference
    from ramet.services.tank_list import judge_list

    answer = judge_list(load_reference(settings.own_rows), file, stock)
    click.echo(_as_json(answer) if settings.as_json else _as_text(answer))
    if not answer.takes_the_list:
        raise SystemExit(1)


def _as_json(answer: "TankAnswer") -> str:
    return json.dumps(
        {
            "format": "ramet-tank/1",
            "takes_the_list": answer.takes_the_list,
            "pieces": len(answer.pieces),
            "tank": answer.report.model_dump(mode="json"),
            "cautions": [one.model_dump(mode="json") for one in answer.cautions],
            "defaults_used": answer.defaults_used,
        },
        ensure_ascii=False,
        indent=2,
    )


def _as_text(answer: "TankAnswer") -> str:
    report = answer.report
    verdict = "can take" if answer.takes_the_list else "can't take"
    lines = [
        f"The tank ({report.volume_l:.0f} L) {verdict} these {len(answer.pieces)} corals on day one.",
        "",
    ]
    lines += _minerals(report)
    ammonia, capacity = _band(report.biofilter.ammonia_in), _band(report.biofilter.capacity)
    lines += [
        "",
        f"Biofilter: {ammonia} comes in, {capacity} can be taken; {report.biofilter.note}",
        "",
        "Light (µmol/m²/s):",
        *_lights(report),
    ]
    if answer.cautions:
        lines += ["", "Cautions:", *(f"  - {one.text} [{one.source}]" for one in answer.cautions)]
    if answer.defaults_used:
        lines += ["", f"{len(answer.defaults_used)} values filled in by default (--json lists them)"]
    return "\n".join(lines)


def _minerals(report: "TankReport") -> list[str]:
    lines = ["Use by corals and tank, expected (low to high):"]
    for one in report.demand:
        used = "; ".join(
            f"{name} {_band(value)}"
            for name, value in (("alkalinity", one.alkalinity), ("Ca", one.calcium), ("Mg", one.magnesium))
        )
        lines.append(f"  day {one.day:>3}: {used}")
    lines.append("Supply per day:" if report.supply else "Supply: none given")
    for means in report.supply:
        dose = "" if means.dose_ml_d is None else f"; start with {means.dose_ml_d:g} mL a day"
        lasts = (
            "lasts a year" if means.outgrown_on_day is None else f"outgrown on day {means.outgrown_on_day}"
        )
        lines.append(
            f"  {means.means}: {means.alkalinity_dkh_d:.2f} dKH, {means.calcium_mg_l_d:.1f} mg/L Ca, "
            f"{means.magnesium_mg_l_d:.2f} mg/L Mg{dose}; all means together: {lasts} ({means.note})"
        )
    return lines


def _lights(report: "TankReport") -> list[str]:
    """Say each verdict once, with the pieces it is for."""
    by_verdict: dict[str, list[str]] = {}
    for one in report.light:
        by_verdict.setdefault(one.verdict, []).append(one.piece)
    return [f"  {pieces[0]}{_more(pieces)}: {verdict}" for verdict, pieces in by_verdict.items()]


def _more(pieces: list[str]) -> str:
    return "" if len(pieces) == 1 else f" and {len(pieces) - 1} more"


def _band(value: "BandValue") -> str:
    return f"{value.typical:.3g} ({value.low:.2g} to {value.high:.2g}) {value.unit}"

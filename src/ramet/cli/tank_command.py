"""`ramet tank`: hold a list of corals against a receiving tank, without any shipment."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
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
@click.option("--no-placement", is_flag=True, help="Do not work out where each coral stands.")
@click.option(
    "--draw",
    type=click.Path(path_type=Path, file_okay=False),
    default=None,
    metavar="DIR",
    help="Write tank-top.svg and tank-front.svg there: where each coral stands, with reach and growth.",
)
@common_options
def command(settings: Settings, file: Path, stock: Path, no_placement: bool, draw: Path | None) -> None:
    """Hold a list of corals against a receiving tank: minerals, biofilter, light, places, cautions.

    FILE is TOML with a [tank] table; a shipment file will do. Exit code 1 when the tank can't take the
    list on day one.

    Example: ramet tank tank.toml --stock corals.csv --draw .
    """
    from ramet.reference.tables import load_reference
    from ramet.services.tank_list import PLACING_S, judge_list

    placing_s = 0.0 if no_placement else PLACING_S
    answer = judge_list(
        load_reference(settings.own_rows),
        file,
        stock,
        placing_s=placing_s,
        seed=settings.seed,
        today=settings.today,
    )
    click.echo(_as_json(answer) if settings.as_json else _as_text(answer))
    if draw is not None:
        _draw(answer, draw)
    if not answer.takes_the_list:
        raise SystemExit(1)


def _draw(answer: "TankAnswer", folder: Path) -> None:
    from ramet.domain.errors import BadInput
    from ramet.domain.problems import Place, Problem
    from ramet.papers.tank_views import tank_front_svg, tank_top_svg

    names = {one.piece: one.taxon for one in answer.pieces}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "tank-top.svg").write_text(tank_top_svg(answer.report, names), "utf-8")
        (folder / "tank-front.svg").write_text(tank_front_svg(answer.report, names), "utf-8")
    except OSError as error:
        why = error.strerror or str(error)
        raise BadInput([Problem(Place(str(folder)), why, "a folder that can be written to")]) from None
    click.echo(f"Written to {folder}: tank-top.svg, tank-front.svg", err=True)


def _as_text(answer: "TankAnswer") -> str:
    from ramet.cli.tank_text import tank_text

    return tank_text(answer)


def _as_json(answer: "TankAnswer") -> str:
    return json.dumps(
        {
            "format": "ramet-tank/1",
            "takes_the_list": answer.takes_the_list,
            "pieces": len(answer.pieces),
            "tank": answer.report.model_dump(mode="json"),
            "cautions": [one.model_dump(mode="json") for one in answer.cautions],
            "why_not": answer.why_not,
            "unplaced": [{"piece": piece, "reason": reason} for piece, reason in answer.unplaced],
            "defaults_used": answer.defaults_used,
        },
        ensure_ascii=False,
        indent=2,
    )

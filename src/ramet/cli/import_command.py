"""`ramet import`: stock lists, water readings and health records into the ledger."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ramet.cli.options import Settings, common_options

if TYPE_CHECKING:
    from ramet.services.import_stock import ImportReport


@click.command("import")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE...")
@click.option("--update", is_flag=True, help="Let rows change what the ledger has.")
@click.option("--accept-good-rows", is_flag=True, help="Take the rows that hold and leave out the others.")
@common_options
def command(settings: Settings, files: tuple[Path, ...], update: bool, accept_good_rows: bool) -> None:
    """Read CSV or XLSX tables into the ledger, which is made when there is none.

    A table is known by its headers: pieces (docs/ledger.md lists the columns), water readings, or health
    records, or spots. The same file again changes nothing. One bad row and nothing is written.

    A folder that `ramet export` wrote, or its events.jsonl, is taken over whole into an empty ledger.

    Example: ramet import stock.csv water.csv health.csv
    """
    from ramet.reference.tables import load_reference
    from ramet.services.import_stock import import_files

    report = import_files(
        settings.ledger,
        files,
        load_reference(settings.own_rows),
        settings.today,
        update=update,
        accept_good_rows=accept_good_rows,
    )
    for problem in report.problems:
        click.echo(f"left out: {problem}", err=True)
    click.echo(_as_json(report) if settings.as_json else _as_words(report, settings.ledger_shown))


def _as_json(report: "ImportReport") -> str:
    from dataclasses import asdict

    values = asdict(report) | {"problems": [str(problem) for problem in report.problems]}
    return json.dumps(values, ensure_ascii=False, indent=2)


def _as_words(report: "ImportReport", ledger: str) -> str:
    if report.events_added:
        return f"{ledger}: {report.events_added} events taken over (entry {report.version})"
    lines = [
        f"{ledger}: {report.pieces_added} pieces added, {report.pieces_changed} changed, "
        f"{report.pieces_unchanged} as they were",
        f"{report.readings_added} water readings, {report.health_added} health records and "
        f"{report.spots_added} spots added, {report.records_known} there already",
    ]
    if report.defaults_used:
        lines.append(f"{len(report.defaults_used)} values filled in by default (--json lists them)")
    if report.rows_left_out:
        lines.append(f"{report.rows_left_out} rows left out")
    return "\n".join(lines)

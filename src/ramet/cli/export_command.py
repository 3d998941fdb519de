"""`ramet export`: the ledger as plain files."""

import json
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("export")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@click.option("--xlsx", "workbook", is_flag=True, help="The tables as a workbook too (stock.xlsx).")
@common_options
def command(settings: Settings, folder: Path, workbook: bool) -> None:
    """Write stock.csv, water.csv, health.csv, spots.csv, events.jsonl and dwca.zip into a folder.

    The folder can be imported into an empty ledger and gives the same state (`ramet import DIR`); so do
    the tables alone for the stock of today. dwca.zip is a Darwin Core archive.

    Example: ramet export out/
    """
    from dataclasses import asdict

    from ramet.services.export import export

    report = export(settings.ledger, folder, workbook=workbook)
    if settings.as_json:
        click.echo(json.dumps(asdict(report), ensure_ascii=False, indent=2))
    else:
        click.echo(f"{report.pieces} pieces and {report.events} events written to {folder}/")

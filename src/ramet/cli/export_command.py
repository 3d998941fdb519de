"""`ramet export`: the ledger as plain files."""

import json
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("export")
@click.argument("folder", type=click.Path(path_type=Path), metavar="DIR")
@common_options
def command(settings: Settings, folder: Path) -> None:
    """Write stock.csv, water.csv, health.csv and events.jsonl into a folder.

    The three tables can be imported into an empty ledger and give the same stock.

    Example: ramet export out/
    """
    from dataclasses import asdict

    from ramet.services.export import export

    report = export(settings.ledger, folder)
    if settings.as_json:
        click.echo(json.dumps(asdict(report), ensure_ascii=False, indent=2))
    else:
        click.echo(f"{report.pieces} pieces and {report.events} events written to {folder}/")

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
    the tables alone for the stock of today. dwca.zip is a Darwin Core archive. Photos are copied to photos/
    without the place and device that a camera writes into them.

    Example: ramet export out/
    """
    from dataclasses import asdict

    from ramet.services.export import export

    report = export(settings.ledger, folder, workbook=workbook)
    photos = _photos(settings, folder)
    if settings.as_json:
        click.echo(json.dumps(asdict(report), ensure_ascii=False, indent=2))
    else:
        click.echo(f"{report.pieces} pieces and {report.events} events written to {folder}/")
        if photos:
            click.echo(f"{photos} photos copied to {folder / 'photos'}/, without place and device")


def _photos(settings: Settings, folder: Path) -> int:
    """Copy the ledger's photos when it has any; only then are the libraries for them needed."""
    from ramet.ledger.store import open_ledger
    from ramet.reference.tables import load_reference
    from ramet.services.photos.of_pieces import export_photos
    from ramet.services.photos.store import photo_folder

    kept = photo_folder(settings.ledger)
    if not kept.is_dir():
        return 0
    with open_ledger(settings.ledger) as book:
        return len(export_photos(book, kept, folder / "photos", load_reference(settings.own_rows)))

"""`ramet restore`: a backup put back."""

import json
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--move-aside", is_flag=True, help="Rename the ledger that is there; it is not removed.")
@common_options
def command(settings: Settings, file: Path, move_aside: bool) -> None:
    """Put a backup back, on either kind of database, and verify the ledger it gives.

    Stop `ramet serve` first when it works on the ledger that is to be replaced.

    Example: ramet restore ramet-2027-01-15.zip --ledger ramet.db
    """
    from dataclasses import asdict

    from ramet.services.backup import restore

    report = restore(file, settings.ledger, move_aside=move_aside)
    if settings.as_json:
        click.echo(json.dumps(asdict(report), ensure_ascii=False, indent=2))
        return
    click.echo(
        f"{settings.ledger_shown}: {report.events} events and {report.files} files put back and verified"
    )
    for path in report.moved_aside:
        click.echo(f"what was there is now {path}")

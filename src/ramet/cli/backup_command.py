"""`ramet backup`: the ledger and its files as one file, taken while it is in use."""

import json
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("backup")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@common_options
def command(settings: Settings, file: Path) -> None:
    """Write the ledger with its photos and other files into one file, checked by hash.

    Others may go on working meanwhile: the backup is of one moment.

    Example: ramet backup ramet-2027-01-15.zip
    """
    from dataclasses import asdict
    from datetime import UTC, datetime

    from ramet.services.backup import backup

    report = backup(settings.ledger, file, datetime.now(UTC))
    if settings.as_json:
        click.echo(json.dumps(asdict(report), ensure_ascii=False, indent=2))
        return
    click.echo(
        f"{report.path}: {report.events} events and {report.files} files, "
        f"{report.size_bytes / 1e6:.1f} MB, checked\nsha256 {report.sha256}"
    )

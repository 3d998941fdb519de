"""`ramet verify`: every piece rebuilt from its events and compared."""

import json
import sys

import click

from ramet.cli.options import Settings, common_options


@click.command("verify")
@common_options
def command(settings: Settings) -> None:
    """Rebuild every piece from its events and compare with what the ledger shows.

    Ends with 1 when anything differs.

    Example: ramet verify --ledger ramet.db
    """
    from dataclasses import asdict

    from ramet.services.verify import verify

    report = verify(settings.ledger)
    if settings.as_json:
        click.echo(json.dumps(asdict(report), ensure_ascii=False, indent=2))
    else:
        for one in report.differences:
            click.echo(f"{one.piece or 'ledger'} [{one.field}]: shown “{one.shown}”, rebuilt “{one.rebuilt}”")
        verdict = f"{len(report.differences)} differences" if report.differences else "no difference"
        click.echo(f"{report.events} events, {report.pieces} pieces rebuilt: {verdict}")
    if report.differences:
        sys.exit(1)

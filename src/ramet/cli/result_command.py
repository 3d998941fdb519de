"""`ramet result`: take a receiver's result file into the ledger."""

import json
from datetime import UTC, datetime
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options


@click.command("result")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option(
    "--plan",
    "plan_file",
    type=click.Path(path_type=Path),
    help="The plan.json of the shipment: tells how each piece was packed, and of pieces cut for it.",
)
@common_options
def command(settings: Settings, file: Path, plan_file: Path | None) -> None:
    """Enter what a receiver saw of the sent pieces. The same file again changes nothing.

    Example: ramet result library-result.json --plan library/plan.json
    """
    from dataclasses import asdict

    from ramet.domain.errors import BadInput
    from ramet.formats.plan_text import read_plan
    from ramet.services.photos.photo_store import keep_photo
    from ramet.services.photos.store import photo_folder
    from ramet.services.record_outcome import Noting, import_result, read_result

    result = read_result(file)
    plan = None if plan_file is None else read_plan(plan_file)
    if isinstance(plan, tuple):
        raise BadInput(plan)
    folder = photo_folder(settings.ledger)
    noting = Noting(datetime.now(UTC), "ramet result", lambda data: keep_photo(folder, data), file=str(file))
    report = import_result(settings.ledger, result, plan, noting)
    if settings.as_json:
        click.echo(json.dumps(asdict(report), ensure_ascii=False, indent=2))
        return
    click.echo(
        f"{report.shipment}: {report.seen_added} observations and {report.bags_added} opened bags entered, "
        f"{report.photos} photos kept, {report.known} known already"
    )
    if report.dead:
        click.echo(f"Dead: {', '.join(report.dead)}")

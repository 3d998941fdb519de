"""`ramet demo`: the whole job on invented data, in one folder."""

from pathlib import Path

import click

from ramet.cli.options import Settings, common_options
from ramet.domain.words import Effort


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default=Path("demo-out"))
@click.option(
    "--effort",
    type=click.Choice([effort.value for effort in Effort]),
    default=Effort.QUICK.value,
    show_default=True,
)
@common_options
def command(settings: Settings, folder: Path, effort: str) -> None:
    """Plan the demo shipment into FOLDER: stock, ledger, shipment, plan, packet and calendar.

    A teaching culture room in Duluth sends corals to a new tank in a library in Tucson in January. All of it
    is invented; the demo plans as if today were 4 January 2027.
    """
    from ramet.cli.searching import SearchLine
    from ramet.formats.plan_text import plan_text
    from ramet.papers.summary import summary_text
    from ramet.reference.tables import load_reference
    from ramet.services.demo import run_demo

    planned = run_demo(
        folder, load_reference(settings.own_rows), settings.seed, Effort(effort), SearchLine().stage
    )
    if settings.as_json:
        click.echo(plan_text(planned.plan), nl=False)
        return
    click.echo(summary_text(planned.plan))
    click.echo(f"Everything is in {folder}; start with {folder / 'packet.pdf'}.")

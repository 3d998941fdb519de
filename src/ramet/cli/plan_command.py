"""`ramet plan`: plan a shipment and write its packet."""

import sys
from pathlib import Path

import click

from ramet.cli.options import Settings, common_options
from ramet.domain.words import Effort, Status


@click.command("plan")
@click.argument("shipment", type=click.Path(path_type=Path))
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    help="Folder for the packet.",
)
@click.option(
    "--effort",
    type=click.Choice([effort.value for effort in Effort]),
    default=Effort.NORMAL.value,
    show_default=True,
    help="How long to look for a better set and a proof.",
)
@click.option(
    "--what-if", is_flag=True, help="Also tell what more gas, oxygen, packs or other hours would change."
)
@click.option(
    "--usual",
    type=click.Path(path_type=Path),
    envvar="RAMET_USUAL",
    default=None,
    metavar="TOML",
    help="Show the usual way of packing in this file beside the plan (environment: RAMET_USUAL).",
)
@common_options
def command(
    settings: Settings, shipment: Path, out: Path, effort: str, what_if: bool, usual: Path | None
) -> None:
    """Plan SHIPMENT (a TOML file) from the ledger's stock and write plan, papers and calendar.

    Ctrl-C ends the search: the best plan so far is finished, checked and written, and says that it was cut
    short. A second Ctrl-C breaks off; nothing is written then.

    \b
    ramet import stock.csv
    ramet plan library.toml -o library/
    """
    from ramet.cli.searching import SearchLine, stopped_by_interrupt
    from ramet.cli.transit_text import what_if_lines
    from ramet.formats.plan_text import plan_text
    from ramet.papers.summary import summary_text
    from ramet.reference.tables import load_reference
    from ramet.services.plan_shipment import PlanOrder, plan_shipment, write_packet
    from ramet.services.printing import Printer

    order = PlanOrder(
        settings.ledger, shipment, settings.today, settings.seed, Effort(effort), what_if, usual
    )
    line = SearchLine()
    with Printer() as printer, stopped_by_interrupt() as should_stop:
        reference = load_reference(settings.own_rows)
        planned = plan_shipment(order, reference, line.stage, line.search, should_stop)
        files = write_packet(planned, out, printer)
    if settings.as_json:
        click.echo(plan_text(planned.plan), nl=False)
    else:
        click.echo(summary_text(planned.plan))
        if planned.what_ifs:
            click.echo("\n".join(what_if_lines(planned.what_ifs)) + "\n")
        click.echo(f"Written to {out}: " + ", ".join(path.name for path in files))
    if planned.plan.status is not Status.READY:
        sys.exit(1)

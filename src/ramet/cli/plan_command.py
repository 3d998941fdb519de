"""`ramet plan`: plan a shipment and write its packet."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ramet.cli.options import Settings, common_options
from ramet.domain.words import Effort, Status

if TYPE_CHECKING:
    from ramet.formats.plan import Plan


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
@click.option(
    "--withdraw",
    metavar="PIECE",
    help="A piece that cannot go: change the plan in --out as little as can be, instead of planning anew.",
)
@click.option(
    "--packed", default="", metavar="BAGS", help="With --withdraw: the bags sealed so far, such as A1,A2,B1."
)
@click.option("--instead", metavar="PIECE", help="With --withdraw: the piece that shall go in its place.")
@common_options
def command(settings: Settings, shipment: Path, out: Path, **asked: Any) -> None:
    """Plan SHIPMENT (a TOML file) from the ledger's stock and write plan, papers and calendar.

    Ctrl-C ends the search: the best plan so far is finished, checked and written, and says that it was cut
    short. A second Ctrl-C breaks off; nothing is written then.

    \b
    ramet import stock.csv
    ramet plan library.toml -o library/
    ramet plan library.toml -o library/ --packed A1,A2 --withdraw DG-05
    """
    if asked["withdraw"] is not None:
        _replan(settings, shipment, out, asked["withdraw"], asked["packed"], asked["instead"])
    elif asked["packed"] or asked["instead"]:
        raise click.UsageError("--packed and --instead tell of a change at the bench: give --withdraw too.")
    else:
        _plan(settings, shipment, out, asked["effort"], asked["what_if"], asked["usual"])


def _plan(
    settings: Settings, shipment: Path, out: Path, effort: str, what_if: bool, usual: Path | None
) -> None:
    from ramet.cli.searching import SearchLine, stopped_by_interrupt
    from ramet.cli.transit_text import what_if_lines
    from ramet.formats.plan_text import plan_text
    from ramet.papers.summary import summary_text
    from ramet.reference.tables import load_reference
    from ramet.services.plan_shipment import PlanOrder, ask_for_folder, plan_shipment, write_packet
    from ramet.services.printing import Printer

    order = PlanOrder(
        settings.ledger, shipment, settings.today, settings.seed, Effort(effort), what_if, usual
    )
    ask_for_folder(out)
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
    _exit_by(planned.plan)


def _replan(
    settings: Settings, shipment: Path, out: Path, withdrawn: str, packed: str, wanted: str | None
) -> None:
    from ramet.formats.plan_text import plan_text
    from ramet.papers.summary import summary_text
    from ramet.reference.tables import load_reference
    from ramet.services.plan_shipment import Planned, write_packet
    from ramet.services.planning.repack import BenchChange
    from ramet.services.printing import Printer
    from ramet.services.replan import ReplanOrder, read_plan_file, replan_shipment

    sealed = frozenset(name.strip() for name in packed.split(",") if name.strip())
    change = BenchChange(sealed, withdrawn, wanted)
    with Printer() as printer:
        plan = read_plan_file(out / "plan.json")
        order = ReplanOrder(plan, settings.ledger, shipment, settings.today, change)
        done = replan_shipment(order, load_reference(settings.own_rows))
        files = write_packet(Planned(done.plan, {}), out, printer)
    if settings.as_json:
        click.echo(plan_text(done.plan), nl=False)
    else:
        click.echo(summary_text(done.plan))
        click.echo("Changed at the bench\n--------------------")
        click.echo("\n".join(f"  {line}" for line in done.words) + "\n")
        click.echo(f"Written to {out}: " + ", ".join(path.name for path in files))
    _exit_by(done.plan)


def _exit_by(plan: "Plan") -> None:
    if plan.status is not Status.READY:
        sys.exit(1)

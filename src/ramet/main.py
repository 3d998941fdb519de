"""Entry point: registers the commands by name, loads each only when it is called."""

import os
import sys
from datetime import date
from importlib import import_module

import click

from ramet import __version__
from ramet.cli.options import Settings, common_options
from ramet.domain.errors import RametError

COMMANDS = {
    "demo": "Plan the invented demo shipment and write all its files.",
    "import": "Read a stock list into the ledger.",
    "today": "Tell what to do now, what is late, and what is unhealthy.",
    "ready": "Tell what can travel on a day, and why the rest can't.",
    "outlook": "Tell what each strain can give in the weeks ahead.",
    "growth": "Tell how a piece grows and when it reaches a size.",
    "health": "Tell what is held and what ends it, and where fish are.",
    "contacts": "Trace a pest: where from, what it met, what was sent.",
    "record": "Enter a cut, a move, a measurement, a loss; undo any of it.",
    "photo": "Keep a photo of a piece beside the ledger.",
    "card": "Print the scale cards that photos are measured by.",
    "area": "Measure the live area in a photo with a scale card.",
    "history": "Show what happened to a piece and what light it had.",
    "tree": "Show the family of a strain, and draw it.",
    "plan": "Plan a shipment and write its packet.",
    "check": "Verify a plan with code of its own.",
    "transit": "Forecast a packed box or a single bag.",
    "water": "Show the properties of a seawater.",
    "tank": "Hold a list of corals against a receiving tank.",
    "result": "Enter what a receiver saw of the sent pieces.",
    "serve": "Serve the pages of the ledger to a browser.",
    "verify": "Rebuild every piece from its events and compare.",
    "backup": "Write the ledger and its files into one file.",
    "restore": "Put a backup back.",
    "export": "Write the ledger's stock and events as plain files.",
}


class LazyGroup(click.Group):
    """A group whose commands live one to a file in `ramet.cli` and are imported on use; `serve` is here."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the command names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one command."""
        if cmd_name not in COMMANDS:
            return None
        if cmd_name == "serve":
            return serve
        module = import_module(f"ramet.cli.{cmd_name}_command")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from their words alone, so that help imports none of them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="ramet")
def cli() -> None:
    """Choose, pack and send live coral so that every bag holds until it is opened."""


@click.command("serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(1, 65535), default=8321, show_default=True)
@click.option("--name", "names", multiple=True, help="One more name by which this machine is reached.")
@common_options
def serve(settings: Settings, host: str, port: int, names: tuple[str, ...]) -> None:
    """Serve the pages of the ledger to a browser, until Ctrl-C.

    On the default address only this machine reaches them, and whoever sits at it is the owner. On another
    address the owner's link is printed once; strangers see only the opening links that they are given.

    \b
    ramet serve
    ramet serve --host 0.0.0.0      # for phones in the same network
    """
    from ramet.web.config import WebConfig
    from ramet.web.serving import serve as serve_pages

    today = settings.today if settings.today != date.today() else None
    config = WebConfig(
        ledger=settings.ledger,
        host=host,
        port=port,
        today=today,
        seed=settings.seed,
        own_rows=settings.own_rows,
        names=names,
    )
    serve_pages(config, click.echo)


def main() -> None:
    """Run the command line and turn known errors into a message and an exit code."""
    # Our matrices are tiny: threads of the linear algebra library cost more than they bring.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        cli(prog_name="ramet")
    except RametError as error:
        click.echo(str(error), err=True)
        sys.exit(error.exit_code)

"""`ramet record inspect`, `dip` and `treat`."""

import click

from ramet.cli.recording.shared import Hand, recording_options


@click.command("inspect")
@click.argument("pieces", nargs=-1, metavar="[PIECE...]")
@click.option("--system", default=None, help="All pieces in this system's water instead.")
@click.option("--pest", default=None, help="The pest looked for (none: health in general).")
@click.option(
    "--result",
    type=click.Choice(["finding", "clean", "cleared"]),
    required=True,
    help="What was seen; cleared is a person's word, for pests without a published life cycle.",
)
@click.option("--note", default=None)
@recording_options
def inspect_command(
    hand: Hand, pieces: tuple[str, ...], system: str | None, pest: str | None, result: str, note: str | None
) -> None:
    """Enter an inspection and what it found.

    \b
    Example: ramet record inspect E1 --pest acropora_flatworm --result clean
    """
    from ramet.domain.events import HealthKind
    from ramet.services.recording.health import About, Inspection, inspect

    order = Inspection(About(pieces, system), HealthKind(result), pest, note)
    hand.run(lambda ledger: inspect(ledger, order, hand.reference(), hand.scribe))


@click.command("dip")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--dip", "kind", required=True, metavar="CLASS", help="The class of the dip, such as iodine.")
@click.option("--minutes", type=float, default=None)
@click.option("--pest", default=None, help="The pest it was against: then it counts as treatment.")
@click.option("--bath", default=None, help="The tub, so that contacts can be traced.")
@click.option("--note", default=None)
@recording_options
def dip_command(
    hand: Hand,
    pieces: tuple[str, ...],
    kind: str,
    minutes: float | None,
    pest: str | None,
    bath: str | None,
    note: str | None,
) -> None:
    """Enter a dip.

    \b
    Example: ramet record dip E1 E2 --dip iodine --minutes 10 --bath "tub 1"
    """
    from ramet.services.recording.health import Dip, dip

    order = Dip(pieces, kind, minutes, pest, bath, note)
    hand.run(lambda ledger: dip(ledger, order, hand.reference(), hand.scribe))


@click.command("treat")
@click.argument("pieces", nargs=-1, metavar="[PIECE...]")
@click.option("--system", default=None, help="All pieces in this system's water instead.")
@click.option("--pest", required=True, help="The pest it was against.")
@click.option("--given", default=None, help="What was given; recorded as you say it, never recommended.")
@click.option("--note", default=None)
@recording_options
def treat_command(
    hand: Hand, pieces: tuple[str, ...], system: str | None, pest: str, given: str | None, note: str | None
) -> None:
    """Enter a treatment against a pest.

    \b
    Example: ramet record treat --system north --pest acropora_flatworm
    """
    from ramet.services.recording.health import About, Treatment, treat

    order = Treatment(About(pieces, system), pest, given, note)
    hand.run(lambda ledger: treat(ledger, order, hand.reference(), hand.scribe))


COMMANDS = (inspect_command, dip_command, treat_command)

"""`ramet record move`, `measure`, `lost`, `reserve`, `release` and `place`."""

from typing import TYPE_CHECKING

import click

from ramet.cli.recording.shared import Hand, recording_options, size_of

if TYPE_CHECKING:
    from ramet.services.recording.measure import Measurement


@click.command("move")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--to", "tank", default=None, metavar="TANK", help="The tank (default: where each is).")
@click.option("--system", default=None, help="Its system, where two have a tank of that name.")
@click.option("--spot", default=None, help="The spot in the tank.")
@click.option("--par", type=float, default=None, help="Light read at the piece there [µmol/m²/s].")
@click.option("--flow", type=float, default=None, help="Flow there [cm/s].")
@recording_options
def move_command(
    hand: Hand,
    pieces: tuple[str, ...],
    tank: str | None,
    system: str | None,
    spot: str | None,
    par: float | None,
    flow: float | None,
) -> None:
    """Move pieces to another spot, tank or system.

    \b
    Example: ramet record move E1 E2 --to n2
    """
    from ramet.services.recording.move import Move, move
    from ramet.services.recording.stock_look import Where

    order = Move(pieces, Where(tank, system, spot), par, flow)
    hand.run(lambda ledger: move(ledger, order, hand.scribe))


@click.command("measure")
@click.argument("readings", nargs=-1, required=True, metavar="PIECE=SIZE...")
@recording_options
def measure_command(hand: Hand, readings: tuple[str, ...]) -> None:
    """Enter sizes, heads or weights under water.

    \b
    SIZE is LENGTH[xWIDTH[xHEIGHT]][/HEADS] in mm; a number with g is the
    weight of a piece hung in its system's water.
    Example: ramet record measure E1=112x95 T1=/14 E2=8.4g
    """
    from ramet.services.recording.measure import measure

    order = tuple(_reading(text) for text in readings)
    hand.run(lambda ledger: measure(ledger, order, hand.scribe))


@click.command("lost")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--why", default=None, help="What is known of the cause.")
@recording_options
def lost_command(hand: Hand, pieces: tuple[str, ...], why: str | None) -> None:
    """Enter that pieces died or are missing.

    \b
    Example: ramet record lost E2 --why "lost tissue from the base"
    """
    from ramet.services.recording.leave import Lost, lose

    hand.run(lambda ledger: lose(ledger, Lost(pieces, why), hand.scribe))


@click.command("reserve")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--for", "promised_to", required=True, metavar="NAME", help="Whom they are promised to.")
@recording_options
def reserve_command(hand: Hand, pieces: tuple[str, ...], promised_to: str) -> None:
    """Promise pieces to somebody: no plan takes them.

    \b
    Example: ramet record reserve E1 --for library
    """
    from ramet.services.recording.leave import reserve

    hand.run(lambda ledger: reserve(ledger, pieces, promised_to, hand.scribe))


@click.command("release")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@recording_options
def release_command(hand: Hand, pieces: tuple[str, ...]) -> None:
    """Take a promise back.

    \b
    Example: ramet record release E1
    """
    from ramet.services.recording.leave import release

    hand.run(lambda ledger: release(ledger, pieces, hand.scribe))


@click.command("place")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--where", required=True, help="Where in the receiver's tank.")
@recording_options
def place_command(hand: Hand, pieces: tuple[str, ...], where: str) -> None:
    """Enter where pieces that were sent found their place.

    \b
    Example: ramet record place E1 --where "left ledge"
    """
    from ramet.services.recording.leave import Placed, place

    hand.run(lambda ledger: place(ledger, Placed(pieces, where), hand.scribe))


def _reading(text: str) -> "Measurement":
    from ramet.services.recording.measure import Measurement

    if "=" not in text:
        raise click.BadParameter(f"found “{text}”; expected PIECE=SIZE")
    piece, size = text.rsplit("=", 1)
    if size.strip().lower().endswith("g"):
        try:
            return Measurement(piece, buoyant_g=float(size.strip()[:-1]))
        except ValueError:
            raise click.BadParameter(f"found “{size}”; expected a weight such as 8.4g") from None
    return Measurement(piece, size_of(size))


COMMANDS = (move_command, measure_command, lost_command, reserve_command, release_command, place_command)

"""`ramet record cut`, `split` and `fuse`."""

import click

from ramet.cli.recording.shared import Hand, child_of, recording_options, size_of


@click.command("cut")
@click.argument("mother")
@click.argument("children", nargs=-1, required=True, metavar="[NAME=]SIZE...")
@click.option("--left", default=None, metavar="SIZE", help="What was measured of the mother afterwards.")
@click.option("--tool", default=None, help="The tool used, so that contacts can be traced.")
@click.option("--tank", default=None, help="Where the new pieces go (default: beside the mother).")
@click.option("--mounted-on", default=None, help="What the new pieces are glued to.")
@recording_options
def cut_command(
    hand: Hand,
    mother: str,
    children: tuple[str, ...],
    left: str | None,
    tool: str | None,
    tank: str | None,
    mounted_on: str | None,
) -> None:
    """Cut a mother: new pieces with their sizes, her wound, and what is left of her.

    \b
    SIZE is LENGTH[xWIDTH[xHEIGHT]][/HEADS] in mm. Without a name a piece
    takes the mother's with the next free number.
    Example: ramet record cut E1 46 46x40 Ember-A=50 --tool "cutter 2"
    """
    from ramet.services.recording.cut import Cut, cut
    from ramet.services.recording.stock_look import NOT_MEASURED

    new = tuple(child_of(text, tank, mounted_on) for text in children)
    order = Cut(mother, new, NOT_MEASURED if left is None else size_of(left), tool)
    hand.run(lambda ledger: cut(ledger, order, hand.reference(), hand.scribe))


@click.command("split")
@click.argument("piece")
@click.argument("parts", nargs=-1, required=True, metavar="[NAME=]SIZE...")
@click.option("--tool", default=None, help="The tool used, if any.")
@click.option("--tank", default=None, help="Where the parts go (default: where the piece was).")
@click.option("--mounted-on", default=None, help="What the parts are glued to.")
@recording_options
def split_command(
    hand: Hand,
    piece: str,
    parts: tuple[str, ...],
    tool: str | None,
    tank: str | None,
    mounted_on: str | None,
) -> None:
    """Divide a piece whole: it ends, and its parts go on.

    \b
    Example: ramet record split E2 30 28
    """
    from ramet.services.recording.cut import Split, split

    order = Split(piece, tuple(child_of(text, tank, mounted_on) for text in parts), tool)
    hand.run(lambda ledger: split(ledger, order, hand.reference(), hand.scribe))


@click.command("fuse")
@click.argument("pieces", nargs=-1, required=True, metavar="PIECE...")
@click.option("--into", required=True, metavar="PIECE", help="The piece they go on as.")
@click.option("--size", default=None, help="What was measured of it.")
@recording_options
def fuse_command(hand: Hand, pieces: tuple[str, ...], into: str, size: str | None) -> None:
    """Let pieces of one strain that grew together go on as one.

    \b
    Example: ramet record fuse E2 E3 --into E1 --size 110x100x80
    """
    from ramet.services.recording.fuse import Fuse, fuse
    from ramet.services.recording.stock_look import NOT_MEASURED

    order = Fuse(pieces, into, NOT_MEASURED if size is None else size_of(size))
    hand.run(lambda ledger: fuse(ledger, order, hand.scribe))


COMMANDS = (cut_command, split_command, fuse_command)

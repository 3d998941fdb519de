"""`ramet record acquire`, `correct`, `water`, `spot` and `undo`."""

import click

from ramet.cli.recording.shared import Hand, fields_of, recording_options

_FIELDS = click.argument("fields", nargs=-1, required=True, metavar="FIELD=VALUE...")


@click.command("acquire")
@_FIELDS
@recording_options
def acquire_command(hand: Hand, fields: tuple[str, ...]) -> None:
    """Take in a new piece; the fields are the columns of a stock list.

    \b
    Example: ramet record acquire piece=E9 strain=Ember "taxon=Acropora sp." \\
             system=north tank=n1 length_mm=40
    """
    from ramet.services.recording.acquire import acquire

    hand.run(lambda ledger: acquire(ledger, [fields_of(fields)], hand.reference(), hand.scribe))


@click.command("correct")
@click.argument("piece")
@_FIELDS
@recording_options
def correct_command(hand: Hand, piece: str, fields: tuple[str, ...]) -> None:
    """Correct what the record says of a piece; FIELD= says that there is nothing.

    \b
    Example: ramet record correct E1 permit=P-2 note=
    """
    from ramet.services.recording.acquire import correct

    hand.run(lambda ledger: correct(ledger, piece, fields_of(fields), hand.reference(), hand.scribe))


@click.command("water")
@_FIELDS
@recording_options
def water_command(hand: Hand, fields: tuple[str, ...]) -> None:
    """Enter a reading of a system's water; the fields are the columns of the water table.

    \b
    Example: ramet record water system=north temperature_c=25.4 salinity=35 \\
             "alkalinity_meq_l=8.1 dKH"
    """
    from ramet.services.recording.readings import read_water

    hand.run(lambda ledger: read_water(ledger, fields_of(fields), hand.scribe))


@click.command("spot")
@_FIELDS
@recording_options
def spot_command(hand: Hand, fields: tuple[str, ...]) -> None:
    """Say what a spot, or a tank as a whole, is like from now on.

    \b
    Example: ramet record spot system=north tank=n1 spot=a par=250 photoperiod_h=10
    """
    from ramet.services.recording.readings import set_spots

    hand.run(lambda ledger: set_spots(ledger, [fields_of(fields)], hand.scribe))


@click.command("undo")
@click.option("--entry", type=int, default=None, help="Any entry of the action (default: the latest action).")
@recording_options
def undo_command(hand: Hand, entry: int | None) -> None:
    """Take an action back, whatever it was; nothing is erased, and an undo can be undone by its number.

    \b
    Example: ramet record undo
    """
    from ramet.services.recording.undo import undo

    hand.run(lambda ledger: undo(ledger, hand.scribe, entry))


COMMANDS = (acquire_command, correct_command, water_command, spot_command, undo_command)

"""`ramet record fish`, `goods`, `tool` and `floor`."""

import click

from ramet.cli.quantity_option import in_unit
from ramet.cli.recording.shared import Hand, recording_options


@click.command("fish")
@click.argument("system")
@click.option("--in/--none", "present", required=True, help="Fish are in it from that day on, or none are.")
@recording_options
def fish_command(hand: Hand, system: str, present: bool) -> None:
    """Enter whether fish are in a system: parasites that live on fish need it to end a hold.

    \b
    Example: ramet record fish west --none
    """
    from ramet.services.recording.systems import note_fish

    hand.run(lambda ledger: note_fish(ledger, system, present, hand.scribe))


@click.command("goods")
@click.argument("goods")
@click.option("--into", "system", default=None, help="The water they stand in from that day on.")
@click.option("--out", "out", is_flag=True, help="They stand in no water any more.")
@click.option("--what", default=None, help="What they are: media, rock, mounts.")
@recording_options
def goods_command(hand: Hand, goods: str, system: str | None, out: bool, what: str | None) -> None:
    """Enter where goods stand: filter media, rock, mounts. Held water holds them too.

    \b
    Example: ramet record goods "media block 3" --into west --what media
    """
    from ramet.services.recording.systems import GoodsPlace, place_goods

    if out == (system is not None):
        raise click.UsageError("expected one of --into SYSTEM and --out")
    hand.run(lambda ledger: place_goods(ledger, GoodsPlace(goods, system, what), hand.scribe))


@click.command("tool")
@click.argument("tool")
@click.argument("pieces", nargs=-1, metavar="[PIECE...]")
@click.option("--system", default=None, help="Used in this system's water.")
@click.option("--disinfected", is_flag=True, help="It was disinfected: the trace ends here.")
@recording_options
def tool_command(
    hand: Hand, tool: str, pieces: tuple[str, ...], system: str | None, disinfected: bool
) -> None:
    """Enter that a net, saw or tub was used on pieces or in a system's water, or that it was disinfected.

    \b
    Example: ramet record tool "net 2" --system west
    """
    from ramet.services.recording.systems import ToolDay, use_tool

    hand.run(lambda ledger: use_tool(ledger, ToolDay(tool, pieces, system, disinfected), hand.scribe))


@click.command("floor")
@click.argument("system")
@click.argument("tank")
@click.option("--length", "length_cm", required=True, callback=in_unit("cm"), help="In cm, or with a unit.")
@click.option("--width", "width_cm", required=True, callback=in_unit("cm"), help="In cm, or with a unit.")
@recording_options
def floor_command(hand: Hand, system: str, tank: str, length_cm: float, width_cm: float) -> None:
    """Enter how long and wide the floor or the racks of a tank are, for the outlook on its space.

    \b
    Example: ramet record floor west W1 --length 120 --width "24 in"
    """
    from ramet.services.recording.systems import Floor, measure_floor

    hand.run(lambda ledger: measure_floor(ledger, Floor(system, tank, length_cm, width_cm), hand.scribe))


COMMANDS = (fish_command, goods_command, tool_command, floor_command)

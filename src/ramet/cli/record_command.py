"""`ramet record`: what a grower does, each a verb."""

import click

from ramet.cli.recording import cutting, entering, health, keeping, systems


@click.group("record")
def command() -> None:
    """Enter what you did or saw: cut, move, measure, lost, and so on.

    What looks wrong is refused, with what is expected; what needs a second thought asks for a word
    (--say). Any of it can be undone.

    Example: ramet record cut E1 46 46
    """


for one in (*cutting.COMMANDS, *keeping.COMMANDS, *health.COMMANDS, *entering.COMMANDS, *systems.COMMANDS):
    command.add_command(one)

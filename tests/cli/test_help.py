"""Help names every command, and every command tells what it does with an example or an argument."""

import pytest
from shell import Shell

from ramet.cli import record_command
from ramet.main import COMMANDS


def test_help_names_all_commands(shell: Shell) -> None:
    ran = shell("--help")
    assert ran.code == 0
    for name, words in COMMANDS.items():
        assert f"  {name} " in ran.out
        assert words in ran.out
    assert {"demo", "import", "plan", "check", "water"} <= set(COMMANDS)


RECORDING = sorted(record_command.command.commands)


@pytest.mark.parametrize(
    "words", [(name,) for name in COMMANDS if name != "record"] + [("record", verb) for verb in RECORDING]
)
def test_every_command_has_help_and_takes_the_common_options(shell: Shell, words: tuple[str, ...]) -> None:
    ran = shell(*words, "--help")
    assert ran.code == 0
    for option in ("--ledger", "--json", "--seed", "--today"):
        assert option in ran.out


def test_an_unknown_command_ends_with_2(shell: Shell) -> None:
    ran = shell("send")
    assert ran.code == 2
    assert "No such command 'send'" in ran.err

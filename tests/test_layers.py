"""The layers hold, and asking for help loads nothing heavy."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
HEAVY = [
    "alembic",
    "gsw",
    "holidays",
    "icalendar",
    "numpy",
    "openpyxl",
    "ortools",
    "pandas",
    "pydantic",
    "python_calamine",
    "rich",
    "scipy",
    "segno",
    "sqlalchemy",
    "typst",
    "vl_convert",
]


def run(code: str) -> str:
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    ).stdout


def test_the_import_contracts_hold() -> None:
    result = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert result.returncode == 0, result.stdout


def test_no_import_is_excused_from_the_contracts() -> None:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    assert contracts
    assert all("ignore_imports" not in contract for contract in contracts)
    assert contracts[0]["exhaustive"] is True


@pytest.mark.parametrize("arguments", [["--help"], ["--version"]])
def test_help_loads_no_heavy_module(arguments: list[str]) -> None:
    code = (
        "import sys\n"
        "from click.testing import CliRunner\n"
        "from ramet.main import cli\n"
        f"assert CliRunner().invoke(cli, {arguments}).exit_code == 0\n"
        f"print([name for name in {HEAVY} if name in sys.modules])"
    )
    assert run(code).strip() == "[]"


def test_the_checker_needs_neither_solver_nor_science() -> None:
    code = (
        "import sys\n"
        "import ramet.check.plan_check\n"
        "print([name for name in ('numpy', 'scipy', 'ortools', 'ramet.optimise', 'ramet.science') "
        "if name in sys.modules])"
    )
    assert run(code).strip() == "[]"


def test_every_command_in_the_list_can_be_loaded_and_has_words() -> None:
    from ramet.main import COMMANDS, cli

    context = cli.make_context("ramet", [], resilient_parsing=True)
    for name in COMMANDS:
        command = cli.get_command(context, name)
        assert command is not None
        assert command.help, name

"""`ramet check` on files: holds, does not hold, is not a plan."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from small_plan import changed, small_plan

from ramet.domain.errors import BadInput
from ramet.formats.plan_text import plan_text
from ramet.main import cli


def check(*arguments: str) -> Result:
    return CliRunner().invoke(cli, ["check", *arguments])


def test_a_plan_that_holds_ends_with_0(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(plan_text(small_plan()))
    result = check(str(path))
    assert result.exit_code == 0
    assert "The plan holds" in result.stdout


def test_a_plan_that_does_not_hold_ends_with_1_and_says_why(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(plan_text(changed(("bags.4.layers", 1))))
    result = check(str(path))
    assert result.exit_code == 1
    assert "A5: soft corals in 1 layer [soft_bags_are_double]" in result.stdout


def test_findings_can_be_read_by_machines(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(plan_text(changed(("bags.4.layers", 1))))
    answer = json.loads(check(str(path), "--json").stdout)
    assert answer["holds"] is False
    assert answer["findings"] == [
        {"rule": "soft_bags_are_double", "text": "soft corals in 1 layer", "where": "A5"}
    ]


@pytest.mark.parametrize("text", ["", "{", '{"format": "ramet-plan/1"}', "[]", "null"])
def test_what_is_not_a_plan_is_told_with_its_place(tmp_path: Path, text: str) -> None:
    path = tmp_path / "plan.json"
    path.write_text(text)
    result = check(str(path))
    assert isinstance(result.exception, BadInput)
    assert result.exception.exit_code == 2
    assert str(path) in str(result.exception)


def test_a_missing_plan_is_told(tmp_path: Path) -> None:
    result = check(str(tmp_path / "none.json"))
    assert isinstance(result.exception, BadInput)


def test_the_program_ends_with_2_and_writes_to_standard_error(tmp_path: Path) -> None:
    ramet = Path(sys.executable).parent / "ramet"
    result = subprocess.run(
        [str(ramet), "check", str(tmp_path / "none.json"), "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 2
    assert result.stdout == ""
    assert result.stderr == f"{tmp_path / 'none.json'}: nothing there; expected a file at this path\n"

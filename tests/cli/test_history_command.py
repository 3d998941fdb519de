"""`ramet history` shows entries with their numbers, what was undone, and the light of a piece."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from ramet.main import cli


def run(ledger: str, *words: str) -> Result:
    return CliRunner().invoke(cli, [*words, "--ledger", ledger, "--today", "2027-01-15"])


@pytest.fixture
def ledger(tmp_path: Path) -> str:
    place = str(tmp_path / "ramet.db")
    (tmp_path / "stock.csv").write_text(
        "piece,strain,taxon,system,tank,spot,length_mm\n"
        "E1,Ember,Acropora sp.,north,n1,a,100\nE2,Ember,Acropora sp.,north,n1,,60\n"
    )
    assert run(place, "import", str(tmp_path / "stock.csv")).exit_code == 0
    run(place, "record", "spot", "system=north", "tank=n1", "spot=a", "par=250", "photoperiod_h=12")
    run(place, "record", "measure", "E1=105")
    run(place, "record", "undo")
    return place


def test_a_piece_is_told_with_numbers_and_light(ledger: str) -> None:
    lines = run(ledger, "history", "e1").stdout.splitlines()
    assert lines[1].split() == [
        "4",
        "2027-01-15",
        "measured",
        "length_mm",
        "105,",
        "method",
        "ruler",
        "(undone)",
    ]
    assert lines[2].split()[2:4] == ["undone", "undoes"]
    # 250 µmol/m²/s over 12 h: 10.8 mol/m²/d by definition.
    assert lines[3] == "light: 10.8 mol/m²/d, mean of 30 of the last 30 days"


def test_light_that_is_not_on_record_is_said_to_be_so(ledger: str) -> None:
    assert run(ledger, "history", "E2").stdout.splitlines()[-1].startswith("light: not on record")


def test_without_a_piece_the_latest_entries_are_told(ledger: str) -> None:
    lines = run(ledger, "history", "--rows", "2").stdout.splitlines()
    assert [line.split()[0] for line in lines] == ["4", "5"]
    assert "measured E1:" in lines[0]


def test_json_and_a_piece_that_nobody_knows(ledger: str) -> None:
    answer = json.loads(run(ledger, "history", "E1", "--json").stdout)
    assert [entry["number"] for entry in answer["entries"]] == [1, 4, 5]
    assert len(answer["light"][0]["days"]) == 30
    assert "a piece of the ledger" in str(run(ledger, "history", "X").exception)

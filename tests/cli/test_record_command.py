"""`ramet record`: done in words or JSON, refused with what is expected, held back until a word is said."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from ramet.main import cli

HEAD = "piece,strain,taxon,system,tank,length_mm,heads\n"
ROWS = """E1,Ember,Acropora sp.,north,n1,100,
E2,Ember,Acropora sp.,north,n1,60,
T1,Trumpet,Caulastraea sp.,north,n2,80,12
"""


@pytest.fixture
def ledger(tmp_path: Path) -> str:
    (tmp_path / "stock.csv").write_text(HEAD + ROWS)
    place = str(tmp_path / "ramet.db")
    assert run(place, "import", str(tmp_path / "stock.csv")).exit_code == 0
    return place


def run(ledger: str, *words: str) -> Result:
    return CliRunner().invoke(cli, [*words, "--ledger", ledger, "--today", "2027-01-15"])


def test_a_cut_is_told_with_its_cautions_on_standard_error(ledger: str) -> None:
    done = run(ledger, "record", "cut", "E1", "46", "Ember-A=50x40", "--tool", "saw 1")
    assert done.exit_code == 0
    assert done.stdout == "cut: E1, E1-1, Ember-A (entry 6)\n"
    assert "E1 is reckoned as" in done.stderr


def test_what_needs_a_word_ends_with_one_until_it_is_said(ledger: str) -> None:
    held = run(ledger, "record", "cut", "T1", "30/2")
    assert (held.exit_code, held.stdout) == (1, "")
    assert "Say it with --say last-piece" in held.stderr
    assert run(ledger, "record", "cut", "T1", "30/2", "--say", "last-piece").exit_code == 0


def test_bad_input_ends_with_two_and_names_the_field(ledger: str) -> None:
    refused = run(ledger, "record", "move", "E7", "--to", "n2")
    assert refused.exit_code == 2
    assert "move [pieces]: found “E7”; expected a piece of the ledger" in refused.stderr


@pytest.mark.parametrize("size", ["46y", "x", "1x2x3x4", "1..2", "/"])
def test_a_size_that_cannot_be_read_is_refused(ledger: str, size: str) -> None:
    refused = run(ledger, "record", "cut", "E1", size)
    assert refused.exit_code == 2
    assert "expected LENGTH[xWIDTH[xHEIGHT]][/HEADS] in mm" in refused.stderr


def test_json_tells_all_that_came_of_it(ledger: str) -> None:
    answer = json.loads(run(ledger, "record", "measure", "E1=112x95", "E2=8.4g", "T1=/14", "--json").stdout)
    assert (answer["done"], answer["entries"], answer["pieces"]) == (True, 3, ["E1", "E2", "T1"])


@pytest.mark.parametrize(
    "words",
    [
        ("split", "E2", "30", "28"),
        ("fuse", "E2", "--into", "E1", "--size", "110"),
        ("move", "E1", "E2", "--to", "n2", "--spot", "a", "--par", "200"),
        ("lost", "E2", "--why", "pale"),
        ("reserve", "E1", "--for", "library"),
        ("inspect", "E1", "--pest", "acropora_flatworm", "--result", "clean"),
        ("dip", "E1", "--dip", "iodine", "--minutes", "5"),
        ("treat", "--system", "north", "--pest", "acropora_flatworm"),
        (
            "acquire",
            "piece=P1",
            "strain=Slate",
            "taxon=Pavona sp.",
            "system=north",
            "tank=n1",
            "length_mm=2 in",
        ),
        ("correct", "E1", "permit=P-1"),
        ("water", "system=north", "temperature_c=77 °F", "salinity=35", "alkalinity_meq_l=8 dKH"),
        ("spot", "system=north", "tank=n1", "spot=a", "par=250", "photoperiod_h=10"),
    ],
)
def test_each_verb_is_entered_and_undone(ledger: str, words: tuple[str, ...]) -> None:
    assert run(ledger, "record", *words).exit_code == 0
    undone = run(ledger, "record", "undo")
    assert undone.stdout.startswith("undo: ")
    assert "no difference" in run(ledger, "verify").stdout


def test_a_promise_is_taken_back_and_a_place_is_for_what_was_sent(ledger: str) -> None:
    run(ledger, "record", "reserve", "E1", "--for", "library")
    assert run(ledger, "record", "release", "E1").exit_code == 0
    refused = run(ledger, "record", "place", "E1", "--where", "left ledge")
    assert "a piece that was sent" in refused.stderr

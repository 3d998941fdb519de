"""`ramet health` and `ramet contacts` over what `ramet record` entered."""

import json
from pathlib import Path

import pytest
from shell import Shell
from small_texts import TODAY

from ramet.reference.tables import load_reference
from ramet.services.import_stock import import_files

STOCK = """\
piece,strain,taxon,form,system,tank,length_mm
A1,Ember,Acropora sp.,branching,west,W1,60
A2,Ember,Acropora sp.,branching,west,W1,60
F1,Field,Favites abdita,massive,west,W1,40
B1,Ember,Acropora sp.,branching,east,E1,60
"""
WATER = "system,on,temperature_c,salinity,alkalinity_meq_l\nwest,2026-08-01,27,35,3\n"


@pytest.fixture
def house(tmp_path: Path, shell: Shell) -> Path:
    """A ledger in which a worm was found, a net used in both systems, and goods stand."""
    from datetime import date

    for name, text in {"stock.csv": STOCK, "water.csv": WATER}.items():
        (tmp_path / name).write_text(text)
    place = tmp_path / "ramet.db"
    files = [tmp_path / "stock.csv", tmp_path / "water.csv"]
    import_files(str(place), files, load_reference(), date.fromisoformat("2026-08-01"))
    for words in (
        ("fish", "west", "--in", "--on", "2026-08-10"),
        ("goods", "block 3", "--into", "west", "--what", "media", "--on", "2026-08-10"),
        ("tool", "net 2", "--system", "west", "--on", "2026-08-20"),
        ("tool", "net 2", "B1", "--on", "2026-08-21"),
        ("inspect", "A1", "--pest", "acropora_flatworm", "--result", "finding", "--on", "2026-08-30"),
        ("floor", "west", "W1", "--length", "120", "--width", "24 in"),
    ):
        ran = shell("record", *words, "--ledger", place, "--today", TODAY)
        assert ran.code == 0, ran.err
    return place


def test_health_tells_what_is_held_and_where_fish_are(shell: Shell, house: Path) -> None:
    ran = shell("health", "--ledger", house, "--today", TODAY)
    assert ran.code == 1
    assert "found on A1" in ran.out
    assert "1 contacts are held with it: A2" in ran.out
    assert "water, mounts and goods of “west”: held for acropora_flatworm since 2026-08-30" in ran.out
    assert "west: 3 corals; fish in it since 2026-08-10; last inspected on 2026-08-30" in ran.out
    assert "east: 1 corals; nobody has said whether fish are in it" in ran.out


def test_contacts_follow_the_net(shell: Shell, house: Path) -> None:
    ran = shell("contacts", "A1", "--pest", "acropora_flatworm", "--ledger", house, "--today", TODAY)
    assert ran.code == 0
    assert "traced back to 2026-07-23" in ran.out
    assert "2026-08-21  east: net 2 used in both (possible only)" in ran.out
    assert "Hosts that possibly met it, 1:\n  B1" in ran.out
    assert "Goods in these waters: block 3" in ran.out
    answer = json.loads(
        shell("contacts", "--system", "west", "--pest", "acropora_flatworm", "--ledger", house, "--json").out
    )
    assert answer["format"] == "ramet-contacts/1"


def test_the_floor_of_a_tank_gives_its_room(shell: Shell, house: Path) -> None:
    answer = json.loads(shell("outlook", "--ledger", house, "--today", TODAY, "--json").out)
    rooms = {tank["tank"]: tank["room_cm2"] for tank in answer["tanks"]}
    assert rooms["E1"] is None
    assert rooms["W1"] == pytest.approx(120 * 24 * 2.54 * 0.6)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("fish", "moon", "--none"), "a system with stock: east, west"),
        (("tool", "net 2"), "one of: pieces, a system, or that it was disinfected"),
        (("goods", "=cmd()", "--into", "west"), "expected"),
        (("floor", "west", "W9", "--length", "10", "--width", "10"), "a tank of “west” with stock"),
        (("floor", "west", "W1", "--length", "0", "--width", "10"), "a number above 0"),
        (("fish", "west", "--none", "--on", "2027-01-01"), "a day not after today"),
        (("goods", "block 3", "--out", "--on", "2026-08-01"), "not before their last move"),
    ],
)
def test_entries_that_make_no_sense_are_refused(
    shell: Shell, house: Path, words: tuple[str, ...], told: str
) -> None:
    ran = shell("record", *words, "--ledger", house, "--today", TODAY)
    assert ran.code == 2
    assert told in ran.err + ran.out


def test_an_unknown_pest_is_told_with_those_that_are_known(shell: Shell, house: Path) -> None:
    ran = shell("contacts", "A1", "--pest", "worm", "--ledger", house, "--today", TODAY)
    assert ran.code == 2
    assert "acropora_flatworm" in ran.err

"""`ramet ready`, `ramet outlook` and `ramet growth` in words and as JSON."""

import json
from pathlib import Path

from shell import Shell
from small_texts import TODAY


def test_what_is_ready_in_words(shell: Shell, ledger: Path) -> None:
    ran = shell("ready", "--ledger", ledger, "--today", TODAY, "--on", "+2w")
    assert ran.code == 0
    assert "Ready on 2026-09-15 (the least piece of each kind): 2 pieces whole" in ran.out
    assert "Dock 1 (Montipora digitata): 1 of 2 whole: 1 medium" in ran.out


def test_what_is_ready_as_json(shell: Shell, ledger: Path) -> None:
    ran = shell(
        "ready", "--ledger", ledger, "--today", TODAY, "--strain", "dock 1", "--size", "4 in", "--json"
    )
    answer = json.loads(ran.out)
    assert ran.code == 1
    assert (answer["format"], answer["whole"], answer["size_mm"]) == ("ramet-ready/1", 0, 101.6)


def test_days_and_strains_that_make_no_sense_are_told(shell: Shell, ledger: Path) -> None:
    for arguments, told in (
        (("--on", "soon"), "expected a day such as 2027-03-01, or +10d or +3w"),
        (("--on", "2020-01-01"), "expected today or later"),
        (("--strain", "Nobody"), "expected a strain in stock"),
        (("--size", "0"), "expected above 0 up to 2000 mm"),
    ):
        ran = shell("ready", "--ledger", ledger, "--today", TODAY, *arguments)
        assert ran.code == 2
        assert told in ran.err


def test_the_weeks_ahead(shell: Shell, ledger: Path) -> None:
    ran = shell("outlook", "--ledger", ledger, "--today", TODAY)
    assert ran.code == 0
    assert "north N1: 4 pieces" in ran.out
    answer = json.loads(shell("outlook", "--ledger", ledger, "--today", TODAY, "--json").out)
    assert [len(one["whole"]) for one in answer["strains"]] == [26, 26]


def test_the_growth_of_a_piece(shell: Shell, ledger: Path) -> None:
    ran = shell("growth", "d1", "--ledger", ledger, "--today", TODAY, "--reach", "6 cm")
    assert ran.code == 0
    assert "D1: Dock 1, Montipora digitata, branching" in ran.out
    assert "no piece of the strain was read twice yet" in ran.out
    assert "reaches that size: 2027-04-04 expected" in ran.out  # 45 to 60 mm at 2.55 cm/yr: 214.7 d


def test_a_piece_that_is_not_there_is_told(shell: Shell, ledger: Path) -> None:
    ran = shell("growth", "X9", "--ledger", ledger, "--today", TODAY)
    assert ran.code == 2
    assert "found “X9”; expected a piece in stock" in ran.err

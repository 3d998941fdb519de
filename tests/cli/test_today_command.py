"""`ramet today` in words and as JSON."""

import json
from pathlib import Path

from shell import Shell


def test_the_day_in_words(shell: Shell, ledger: Path) -> None:
    ran = shell("today", "--ledger", ledger, "--today", "2026-11-15")
    assert ran.code == 0
    assert "2026-11-15: 4 pieces in stock, 0 held, 0 promised" in ran.out
    assert "Measure 4 pieces (D1, D2, F1, F2) in N1" in ran.out
    assert "Read the water of “north”: the ledger has no reading of it" in ran.out


def test_the_day_as_json(shell: Shell, ledger: Path) -> None:
    ran = shell("today", "--ledger", ledger, "--today", "2026-11-15", "--json")
    day = json.loads(ran.out)
    assert day["format"] == "ramet-today/1"
    assert {line["kind"] for line in day["lines"]} == {"measure", "water"}


def test_no_ledger_is_told(shell: Shell, tmp_path: Path) -> None:
    ran = shell("today", "--ledger", tmp_path / "none.db")
    assert ran.code == 2
    assert "ramet import" in ran.err

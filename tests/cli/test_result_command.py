"""`ramet result` takes a receiver's file into the ledger, once."""

import json
from pathlib import Path

from shell import Shell
from small_shop import small_ledger, small_shop_plan

from ramet.formats.plan_text import plan_text

PLAN = small_shop_plan()


def result_file(folder: Path, condition: str = "dead") -> Path:
    piece = PLAN.chosen[0].piece
    data = {
        "format": "ramet-result/1",
        "shipment": PLAN.shipment.name,
        "due": PLAN.shipment.due.isoformat(),
        "plan_sha256": "b" * 64,
        "made_at": PLAN.shipment.due.isoformat(),
        "device": "d1d1d1d1",
        "bags": [],
        "seen": [
            {"piece": piece, "day": 0, "seen_at": PLAN.shipment.due.isoformat(), "condition": condition}
        ],
    }
    path = folder / "result.json"
    path.write_text(json.dumps(data))
    return path


def test_a_result_is_entered_once_and_the_dead_are_named(shell: Shell, tmp_path: Path) -> None:
    place = small_ledger(tmp_path)
    (tmp_path / "plan.json").write_text(plan_text(PLAN))
    asked = ("result", result_file(tmp_path), "--plan", tmp_path / "plan.json", "--ledger", place)
    first = shell(*asked)
    assert first.code == 0
    assert f"Dead: {PLAN.chosen[0].piece}" in first.out
    again = shell(*asked, "--json")
    assert json.loads(again.out)["seen_added"] == 0
    assert json.loads(again.out)["known"] == 1


def test_a_wrong_word_ends_with_2_and_names_its_place(shell: Shell, tmp_path: Path) -> None:
    ran = shell("result", result_file(tmp_path, "fine"), "--ledger", small_ledger(tmp_path))
    assert ran.code == 2
    assert "seen[1].condition" in ran.err

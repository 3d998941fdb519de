"""The text of a plan: the same plan gives the same bytes, reads back, and keeps to the published schema."""

import json
from pathlib import Path

from jsonschema import Draft202012Validator
from small_plan import small_dict, small_plan

import ramet.formats
from ramet.formats.plan import Plan
from ramet.formats.plan_text import plan_text, read_plan

SCHEMA = Path(ramet.formats.__file__).parent / "schema" / "ramet-plan-1.json"


def test_a_plan_reads_back_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(plan_text(small_plan()), encoding="utf-8")
    again = read_plan(path)
    assert again == small_plan()
    assert isinstance(again, Plan)
    assert plan_text(again) == plan_text(small_plan())


def test_classes_go_by_their_public_name() -> None:
    data = json.loads(plan_text(small_plan()))
    assert data["format"] == "ramet-plan/1"
    assert data["bags"][0]["class"] == "stony"
    assert "bag_class" not in plan_text(small_plan())


def test_the_order_of_keys_given_changes_nothing() -> None:
    turned = dict(reversed(list(small_dict().items())))
    assert plan_text(Plan.model_validate(turned)) == plan_text(small_plan())


def test_series_stand_on_one_line_and_the_text_ends_with_a_line_end() -> None:
    text = plan_text(small_plan())
    assert text.endswith("\n}\n")
    assert ' "hours": [0.0, 6.0, 12.0,' in text


def test_a_plan_keeps_to_the_published_schema() -> None:
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    data = json.loads(plan_text(small_plan()))
    assert list(Draft202012Validator(schema).iter_errors(data)) == []
    assert not Draft202012Validator(schema).is_valid({**data, "extra": 1})


def test_problems_of_a_plan_file_have_their_line(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    lines = plan_text(small_plan()).replace('"seed": 1', '"seed": "one"').split("\n")
    path.write_text("\n".join(lines), encoding="utf-8")
    found = read_plan(path)
    assert isinstance(found, tuple)
    line = lines.index(' "seed": "one",') + 1
    assert [str(one) for one in found] == [f"{path}:{line} [seed]: found “one”; expected a whole number"]

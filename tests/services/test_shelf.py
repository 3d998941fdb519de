"""Shipments are kept beside the ledger, read back as they were, and never overwritten unseen."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.errors import BadInput, StaleWrite
from ramet.services.shelf import (
    folder_of,
    free_key,
    place_of,
    save_shipment,
    shipment_text,
    shipments,
    version_of,
)

DEMO = (Path(__file__).parents[2] / "src/ramet/data/demo/shipment.toml").read_text("utf-8")


def test_a_shipment_is_read_back_as_it_was_written(tmp_path: Path) -> None:
    save_shipment(tmp_path, "library", DEMO, "")
    (place,) = shipments(tmp_path)
    assert (place.key, place.name) == ("library", "Library display, first stocking")
    assert shipment_text(place) == DEMO
    assert place.plan is None


def test_a_text_that_is_no_shipment_is_refused_with_its_line_and_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as refused:
        save_shipment(tmp_path, "library", DEMO.replace('rank = "must"', 'rank = "maybe"', 1), "")
    (problem,) = refused.value.problems
    assert (problem.place.column, problem.value) == ("request[1].rank", "maybe")
    assert problem.place.line == DEMO[: DEMO.index('rank = "must"')].count("\n") + 1
    assert place_of(tmp_path, "library") is None
    assert not list((tmp_path / "shipments").iterdir())


def test_what_somebody_else_saved_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    read = save_shipment(tmp_path, "library", DEMO, "")
    theirs = DEMO.replace("count = 2", "count = 3", 1)
    save_shipment(tmp_path, "library", theirs, read)
    with pytest.raises(StaleWrite):
        save_shipment(tmp_path, "library", DEMO.replace("count = 2", "count = 4", 1), read)
    assert version_of(tmp_path / "shipments" / "library" / "shipment.toml") != read
    assert (tmp_path / "shipments" / "library" / "shipment.toml").read_text("utf-8") == theirs


@given(st.text(max_size=80))
def test_any_name_gives_a_key_that_stays_on_the_shelf(name: str) -> None:
    root = Path("nowhere")
    folder = folder_of(root, free_key(root, name))
    assert folder is not None
    assert folder.parent == root / "shipments"


@pytest.mark.parametrize("key", ["", "..", "a/b", "../secret", "A", "a" * 61])
def test_a_key_that_leads_elsewhere_is_none(tmp_path: Path, key: str) -> None:
    assert place_of(tmp_path, key) is None

"""Hold times in whole boxes against a general integrator: packs switching on, ice running out, big corals."""

import csv

import pytest
from journey_cases import ON_TIME, PARAMETERS
from reference_box import HOLDS, LAST_H, ReferenceBox, case_box, cases

from ramet.science.journey import forecast
from ramet.science.scenarios import central

ROWS = {row["case"]: float(row["hours"]) for row in csv.DictReader(HOLDS.read_text("utf-8").splitlines())}


@pytest.mark.parametrize("name", list(cases()))
def test_holds_in_a_box_agree_with_a_general_integrator(name: str) -> None:
    # reference_boxes.csv: scipy LSODA, rtol 1e-8, on heat, packs, ice, water and gas at once
    # (reference_box.py writes it). Half a per cent, or 20 seconds where a big coral empties little water
    # in minutes.
    box, around, _ = case_box(name)
    found = forecast([box], around, PARAMETERS, central(ON_TIME), LAST_H).holds.hold_h[0, 0]
    assert found == pytest.approx(ROWS[name], rel=0.005, abs=20 / 3600)


def test_the_set_of_boxes_is_the_committed_one_and_each_breaks_its_limit() -> None:
    assert set(ROWS) == set(cases())
    assert max(ROWS.values()) < LAST_H


@pytest.mark.parametrize("name", ["pack on after 6 h", "ice chills"])
def test_a_reference_box_can_be_computed_again(name: str) -> None:
    box, around, limit = case_box(name)
    assert ReferenceBox(box, around).hold_h(limit) == pytest.approx(ROWS[name], abs=2e-6)

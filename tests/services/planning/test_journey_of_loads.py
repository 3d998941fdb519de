"""The forecast of the packed boxes, and the margins that follow."""

import pytest
from small_shipment import OK_SMALL, small_stages

from ramet.services.planning.journey_of_loads import SCENARIOS, run_journey

LOADED = small_stages().packed.loaded


def test_a_margin_is_what_the_hold_time_leaves_beyond_the_need() -> None:
    for bag, load in enumerate(LOADED.loads):
        p05 = min(LOADED.horizon_h, LOADED.journey.hold_percentiles_h(bag)[0])
        assert LOADED.margin_h(bag) == pytest.approx(p05 - load.needed_h)


def test_a_day_late_no_bag_has_more_margin() -> None:
    for bag in range(len(LOADED.loads)):
        assert LOADED.margin_late_h(bag, 24.0) < LOADED.margin_h(bag)


def test_all_bags_of_all_boxes_are_forecast_once() -> None:
    assert len({load.id for load in LOADED.loads}) == len(LOADED.loads) == 4
    assert LOADED.journey.holds.hold_h.shape == (4, SCENARIOS[OK_SMALL.effort])


def test_the_same_loads_have_the_same_journey() -> None:
    again = run_journey(OK_SMALL, small_stages().boxes, LOADED.loads)
    assert (again.journey.holds.hold_h == LOADED.journey.holds.hold_h).all()
    assert again.loads == LOADED.loads

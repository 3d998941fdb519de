"""The chosen set held against the receiving tank."""

import pytest
from small_shipment import OK_SMALL, inputs, small_stages

from ramet.services.planning.forecast_rows import forecast_rows
from ramet.services.planning.gather import Inputs
from ramet.services.planning.receiving_tank import Received, receive
from ramet.services.planning.standing import place_loads

ZONE = {"name": "terrace", "area_cm2": 2500, "par_low": 80, "par_high": 200, "flow_cm_s": 10}
TANK = {"volume_l": 300, "alkalinity_dkh": 8, "calcium_mg_l": 420, "magnesium_mg_l": 1300, "zone": [ZONE]}
PACKED = small_stages().packed
ROWS = forecast_rows(OK_SMALL, PACKED.loaded)


def received(given: Inputs) -> Received:
    return receive(given, PACKED.loads, ROWS, place_loads(given, PACKED.loads, 0.25))


RECEIVED = received(inputs(tank=TANK))
PIECES = {load.parcel.candidate.piece for load in small_stages().packed.loads if load.parcel.candidate}


def test_every_coral_gets_a_place_and_a_way_to_its_light() -> None:
    assert {one.piece for one in RECEIVED.report.placement} == PIECES
    assert {one.piece for one in RECEIVED.report.light} == PIECES
    assert RECEIVED.unplaced == ()


def test_every_bag_gets_its_own_steps_of_opening() -> None:
    assert {one.bag for one in RECEIVED.report.acclimation} == {
        load.id for load in small_stages().packed.loads
    }
    assert all(one.steps for one in RECEIVED.report.acclimation)


def test_calcium_is_asked_for_in_the_proportion_of_its_mineral() -> None:
    # Calcium carbonate: two equivalents of alkalinity to a mole of calcium, 40.08 g (stoichiometry);
    # 1 dKH is 0.3567 meq/L, so 1 dKH goes with 0.3567 / 2 x 40.08 = 7.15 mg/L of calcium. What rises from
    # day 0 on is the corals' use, clear of what the tank uses of its own.
    first, *later = RECEIVED.report.demand
    for day in later:
        calcium = day.calcium.typical - first.calcium.typical
        assert calcium / (day.alkalinity.typical - first.alkalinity.typical) == pytest.approx(7.15, rel=0.1)


def test_demand_grows_with_the_corals() -> None:
    typical = [day.alkalinity.typical for day in RECEIVED.report.demand]
    assert [day.day for day in RECEIVED.report.demand] == [0, 30, 90, 180]
    assert typical == sorted(typical)
    assert typical[0] < typical[-1]


def test_water_that_differs_from_its_source_is_told() -> None:
    # The source has 2.9 meq/L, 8.1 dKH; more than 1.5 dKH apart is told (common practice, no source).
    low = received(inputs(tank=TANK | {"alkalinity_dkh": 6}))
    assert "alkalinity_gap" in {one.code for one in low.cautions}
    assert "alkalinity_gap" not in {one.code for one in RECEIVED.cautions}


def test_a_tank_without_zones_gets_no_places_but_all_the_rest() -> None:
    plain = received(OK_SMALL)
    assert len(plain.report.acclimation) == len(small_stages().packed.loads)
    assert plain.report.volume_l == 300

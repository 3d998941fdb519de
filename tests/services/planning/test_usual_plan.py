"""A grower's habit beside the plan of the small shipment."""

from functools import cache

import pytest
from small_shipment import REFERENCE, small_plan

from ramet.formats.plan import Plan
from ramet.formats.usual import Usual
from ramet.formats.usual_plan import UsualPlan
from ramet.services.planning.adjustment import living_bags
from ramet.services.planning.planned_journey import planned_journey
from ramet.services.planning.usual_plan import beside_usual, packed_as_usual

SHA = "0" * 64


@cache
def beside(**habits: object) -> UsualPlan:
    found = beside_usual(REFERENCE, small_plan(), Usual.model_validate(habits), SHA)
    assert found is not None
    return found


def as_planned(plan: Plan) -> dict[str, float]:
    return {bag.id: bag.margin_h for bag in plan.forecast.bags}


def test_much_water_under_air_holds_less_long_than_the_plan() -> None:
    # Nearly all the oxygen of a sealed bag is in its gas: habit overdoes water and forgets gas.
    found = beside(water_share=0.8, gas="air")
    planned = as_planned(small_plan())
    living = [row for row in found.bags if row.hold_p05_h < small_plan().horizon_h]
    assert living
    assert all(row.margin_h < planned[row.id] for row in living)
    assert found.water_l > found.planned_water_l
    assert found.holding < found.planned_holding == len(planned)
    assert "80 % water" in found.words


def test_margins_of_the_habit_keep_each_bags_need() -> None:
    needed = {bag.id: bag.needed_h for bag in small_plan().forecast.bags}
    for row in beside(water_share=0.8, gas="air").bags:
        assert row.margin_h == pytest.approx(row.hold_p05_h - needed[row.id], abs=0.011)
        assert row.coldest_c <= row.warmest_c


def test_a_habit_that_is_the_plan_has_its_margins() -> None:
    # The small plan has no heat packs, and neither has the habit.
    assert {row.id: row.margin_h for row in beside(heat_packs=0).bags} == as_planned(small_plan())


def test_a_bag_of_the_catalogue_takes_the_place_of_the_planned_one() -> None:
    planned = planned_journey(small_plan(), REFERENCE)
    assert planned is not None
    usual = Usual(bag="round_152x305", fill_share=0.5, water_share=0.5)
    row = REFERENCE.bags["round_152x305"]
    for bag in living_bags(packed_as_usual(REFERENCE, planned, usual)):
        assert bag.water_l + bag.gas_l == pytest.approx(0.5 * row.closed_l)
        assert bag.water_l == pytest.approx(0.25 * row.closed_l)
        # geometry of a tied bag filled round: cross-section w²/π
        assert bag.surface_cm2 == pytest.approx(15.2**2 / 3.14159265)
        assert bag.at_mm is None


def test_a_coral_keeps_the_water_that_covers_it() -> None:
    planned = planned_journey(small_plan(), REFERENCE)
    assert planned is not None
    least = REFERENCE.parameter("least_water_ml_cm2").band.typical * 1e-3
    for bag in living_bags(packed_as_usual(REFERENCE, planned, Usual(water_share=0.001))):
        assert bag.water_l == pytest.approx(least * sum(one.contour_area_cm2.typical for one in bag.animals))


def test_two_heat_packs_a_box_warm_the_bags() -> None:
    cool, warm = beside(heat_packs=0), beside(heat_packs=2)
    for before, after in zip(cool.bags, warm.bags, strict=True):
        assert after.warmest_c > before.warmest_c


def test_a_plan_that_does_not_tell_its_journey_has_no_habit_beside_it() -> None:
    silent = small_plan().model_copy(update={"journey": None})
    assert beside_usual(REFERENCE, silent, Usual(layers=2), SHA) is None

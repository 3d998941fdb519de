"""What-ifs of a plan: the packed boxes of the small shipment with one thing different."""

from functools import cache

import pytest
from small_shipment import REFERENCE, inputs, leg, small_plan

from ramet.domain.errors import BadInput
from ramet.domain.words import Gas
from ramet.formats.plan import Forecast, Plan
from ramet.formats.transit_result import WhatIfRow
from ramet.services.planning.adjustment import Adjustment
from ramet.services.planning.plan import make_plan
from ramet.services.planning.what_ifs import plan_what_ifs, room_to_adjust, try_out

DRAWS = 64


@cache
def small() -> tuple[WhatIfRow, ...]:
    return plan_what_ifs(REFERENCE, small_plan(), DRAWS)


def tried(plan: Plan, draws: int = DRAWS, **wish: object) -> Forecast:
    found = try_out(REFERENCE, plan, Adjustment(**wish), draws)  # type: ignore[arg-type]
    assert found is not None
    return found


def of(rows: tuple[WhatIfRow, ...], change: str) -> dict[str, WhatIfRow]:
    return {row.bag: row for row in rows if row.change == change}


def test_a_plan_forecast_again_from_itself_gives_its_own_forecast() -> None:
    plan = Plan.model_validate_json(small_plan().model_dump_json(by_alias=True))
    assert tried(plan, plan.forecast.scenarios) == small_plan().forecast


def test_every_bag_has_a_row_under_every_change_and_keeps_its_need() -> None:
    bags = {bag.id: bag for bag in small_plan().forecast.bags}
    for change in {row.change for row in small()}:
        rows = of(small(), change)
        assert set(rows) == set(bags)
        more = 24 if change == "depot" else 0
        for bag, row in rows.items():
            assert row.needed_h == pytest.approx(bags[bag].needed_h + more, abs=0.01)
            assert row.margin_h == pytest.approx(row.hold_p05_h - row.needed_h, abs=2e-3)


def test_as_planned_is_near_the_forecast_of_the_plan() -> None:
    # The plan draws 128 scenarios and these rows 64, on a grid with the corners of more boxes: within 15 %.
    rows = of(small(), "as_written")
    for bag in small_plan().forecast.bags:
        assert rows[bag.id].hold_p05_h == pytest.approx(bag.hold_h.p05, rel=0.15)
        assert rows[bag.id].delta_p05_h == 0


def test_a_day_at_the_depot_takes_margin_from_every_bag() -> None:
    planned, held = of(small(), "as_written"), of(small(), "depot")
    for bag, row in held.items():
        if not row.beyond:  # a hold that outlasts what was looked at has no margin to compare
            assert row.margin_h < planned[bag].margin_h
    assert not all(row.beyond for row in held.values())


def test_a_heat_pack_helps_in_the_cold_and_a_carrier_may_refuse_it() -> None:
    cold = make_plan(inputs(leg=[leg(2, 8)]))
    for bag, row in of(plan_what_ifs(REFERENCE, cold, DRAWS), "more_heat").items():
        assert row.first_limit in {"cold", "cold_at_once"}
        assert row.delta_p05_h > 0, bag
    refused = make_plan(inputs(carrier={"live_aquatics": "yes", "heat_packs": "no"}))
    assert not of(plan_what_ifs(REFERENCE, refused, 8), "more_heat")
    with pytest.raises(BadInput, match="takes no heat packs"):
        tried(refused, 8, heat_packs=1)


def test_the_same_question_has_the_same_answer() -> None:
    assert plan_what_ifs(REFERENCE, small_plan(), DRAWS) == small()


def test_air_for_oxygen_holds_less_long_and_only_where_it_was_asked_for() -> None:
    # Nearly all the oxygen of a sealed bag is in its gas.
    plan = small_plan()
    chosen = frozenset({next(bag.id for bag in plan.bags if bag.gas is Gas.OXYGEN)})
    before, after = tried(plan), tried(plan, gas=Gas.AIR, bags=chosen)
    for old, new in zip(before.bags, after.bags, strict=True):
        if old.id in chosen:
            assert new.hold_h.p05 < old.hold_h.p05
        else:
            assert new.hold_h.p05 == pytest.approx(old.hold_h.p05, rel=0.01)


def test_boxes_that_wait_need_longer_and_their_leg_is_longer() -> None:
    plan = small_plan()
    held = tried(plan, 8, waits_h=12.0)
    assert held.legs[0].end_h == pytest.approx(plan.forecast.legs[0].end_h + 12)
    for before, after in zip(plan.forecast.bags, held.bags, strict=True):
        assert after.needed_h == pytest.approx(before.needed_h + 12)
    assert held.hours[-1] == pytest.approx(plan.horizon_h + 12)


def test_boxes_that_leave_at_another_hour_meet_other_air() -> None:
    # The leg swings from 22 °C to 25 °C, warmest at 15:00; 12 h after 14:00 it is coldest.
    plan = small_plan()
    now, later = tried(plan, 8), tried(plan, 8, leaves_h=12.0)
    assert now.ambient_c.p50[2] == pytest.approx(25.0, abs=0.2)
    assert later.ambient_c.p50[2] == pytest.approx(22.0, abs=0.2)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"water_factor": 0.01}, "water_factor.*stay covered"),
        ({"water_factor": 9.0}, "water_factor.*gas is left"),
        ({"heat_packs": 40}, "heat_packs.*more in each box"),
        ({"leaves_h": 400.0}, "leaves_h.*48 h"),
        ({"waits_h": -1.0}, "waits_h.*0 to 72"),
        ({"layers": 9}, "layers.*1 to 3"),
        ({"bags": frozenset({"Q9"})}, "bags.*Q9.*a bag of corals"),
    ],
)
def test_what_cannot_be_done_is_told_with_what_can(wish: dict[str, object], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        tried(small_plan(), 8, **wish)


def test_everything_within_the_room_can_be_tried() -> None:
    room = room_to_adjust(REFERENCE, small_plan())
    assert room is not None
    assert room.water_factor_low < 1 < room.water_factor_high
    for factor in (room.water_factor_low, room.water_factor_high):
        assert all(bag.hold_h.p50 > 0 for bag in tried(small_plan(), 8, water_factor=factor).bags)
    tried(small_plan(), 8, heat_packs=room.heat_packs_high)


def test_a_plan_that_does_not_tell_its_journey_has_no_what_ifs() -> None:
    silent = small_plan().model_copy(update={"journey": None})
    assert try_out(REFERENCE, silent) is None
    assert room_to_adjust(REFERENCE, silent) is None
    assert plan_what_ifs(REFERENCE, silent) == ()

"""What-ifs of a plan: the packed boxes of the small shipment with one thing different."""

from functools import cache

import pytest
from small_shipment import OK_SMALL, inputs, leg, small_stages

from ramet.formats.transit_result import WhatIfRow
from ramet.services.planning.what_ifs import plan_what_ifs

DRAWS = 64


@cache
def small() -> tuple[WhatIfRow, ...]:
    return plan_what_ifs(OK_SMALL, small_stages().boxes, small_stages().packed.loaded.loads, DRAWS)


def of(rows: tuple[WhatIfRow, ...], change: str) -> dict[str, WhatIfRow]:
    return {row.bag: row for row in rows if row.change == change}


def test_every_bag_has_a_row_under_every_change_and_keeps_its_need():
    loads = {load.id: load for load in small_stages().packed.loaded.loads}
    for change in {row.change for row in small()}:
        rows = of(small(), change)
        assert set(rows) == set(loads)
        more = 24 if change == "depot" else 0
        for bag, row in rows.items():
            assert row.needed_h == pytest.approx(loads[bag].needed_h + more)
            assert row.margin_h == pytest.approx(row.hold_p05_h - row.needed_h, abs=2e-3)


def test_as_planned_is_the_forecast_of_the_plan():
    # The plan draws 256 scenarios and these rows 64, on a grid with the corners of more boxes: within 15 %.
    loaded = small_stages().packed.loaded
    rows = of(small(), "as_written")
    for place, load in enumerate(loaded.loads):
        assert rows[load.id].hold_p05_h == pytest.approx(loaded.hold_p05_h(place), rel=0.15)
        assert rows[load.id].delta_p05_h == 0


def test_a_day_at_the_depot_takes_margin_from_every_bag():
    planned, held = of(small(), "as_written"), of(small(), "depot")
    for bag, row in held.items():
        if not row.beyond:  # a hold that outlasts what was looked at has no margin to compare
            assert row.margin_h < planned[bag].margin_h
    assert not all(row.beyond for row in held.values())


def test_a_heat_pack_helps_in_the_cold_and_a_carrier_may_refuse_it():
    stages = small_stages()
    loads = stages.packed.loaded.loads
    rows = plan_what_ifs(inputs(leg=[leg(2, 8)]), stages.boxes, loads, DRAWS)
    for bag, row in of(rows, "more_heat").items():
        assert row.first_limit in {"cold", "cold_at_once"}
        assert row.delta_p05_h > 0, bag
    refusing = inputs(carrier={"live_aquatics": "yes", "heat_packs": "no"})
    assert not of(plan_what_ifs(refusing, stages.boxes, loads, 8), "more_heat")


def test_the_same_question_has_the_same_answer():
    stages = small_stages()
    again = plan_what_ifs(OK_SMALL, stages.boxes, stages.packed.loaded.loads, DRAWS)
    assert again == small()

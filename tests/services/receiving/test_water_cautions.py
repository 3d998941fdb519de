"""What a careful person says about the water; limits are common practice without a source."""

from datetime import date

import pytest
from small_tank import reference, soft, stony, tank

from ramet.domain.piece import WaterRecord
from ramet.services.receiving.arriving import Visit
from ramet.services.receiving.testing import LAST_DAY
from ramet.services.tank import tank_report

SOURCE = WaterRecord("north", date(2027, 1, 1), 25.0, 35.0, 2.85, 420.0, 1300.0, 5.0, 0.05)


def codes(pieces=(), sources=(), visit=None, **water):
    visit = visit or Visit(arrives=date(2027, 1, 20))
    _, cautions = tank_report(reference(), tank(**water), (), pieces, sources=sources, visit=visit)
    return {one.code for one in cautions}


@pytest.mark.parametrize(
    ("water", "code"),
    [
        ({"alkalinity_dkh": 10.5}, "alkalinity_gap"),
        ({"salinity": 32}, "salinity_differs"),
        ({"temperature_c": 27.5}, "temperature_differs"),
        ({"calcium_mg_l": 330}, "calcium_differs"),
        ({"magnesium_mg_l": 1100}, "magnesium_differs"),
        ({"nitrate_mg_l": 0.3}, "nutrients_differ"),
        ({"phosphate_mg_l": 0}, "nutrients_zero"),
        ({"nitrate_mg_l": 40}, "nutrients_high"),
        ({"temperature_swing_c": 2.0}, "temperature_swings"),
        ({"salinity_swing": 1.5}, "salinity_swings"),
        ({"tested_on": date(2027, 1, 2)}, "old_test"),
    ],
)
def test_each_difference_is_told_by_itself(water, code):
    assert code in codes(sources=[SOURCE], **water)
    assert code not in codes(sources=[SOURCE])


def test_soft_and_stony_together_ask_for_the_direction_of_the_flow():
    both = [stony(), soft()]
    assert "soft_up_current" in codes(both)
    assert "soft_up_current" in codes(both, flow_from="changing")
    assert "soft_up_current" not in codes(both, flow_from="left")
    assert "soft_up_current" not in codes([stony()])


def test_the_doubt_in_the_demand_sets_how_often_alkalinity_is_tested():
    few, _ = tank_report(reference(), tank(), (), [stony()])
    many, _ = tank_report(reference(), tank(), (), [stony(f"A{n}") for n in range(30)])

    def tested(report):
        return [one.day for one in report.testing if "alkalinity" in one.tests]

    assert tested(many) == list(range(LAST_DAY + 1))
    assert len(tested(few)) < len(tested(many))
    assert {one.day for one in many.testing} <= set(range(LAST_DAY + 1))


def test_ammonia_is_added_only_to_an_empty_tank_and_in_the_right_amount():
    # 1 mg/L of N in 250 L: 250 mg N, 0.955 g of NH4Cl (53.491 / 14.007).
    empty, _ = tank_report(reference(), tank(), (), [soft()], visit=Visit(leaves=date(2027, 1, 19)))
    ready = empty.biofilter.readiness
    assert ready.by_ammonia
    assert "1.0 g of pure ammonium chloride" in ready.steps[0]
    assert ready.starts_by == date(2027, 1, 15)
    full, _ = tank_report(reference(), tank(stocked=True), (), [soft()])
    assert not full.biofilter.readiness.by_ammonia
    assert "never add ammonia" in full.biofilter.readiness.steps[0]

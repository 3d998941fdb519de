"""Doses and corrections, worked out by hand from recipes and volumes."""

import pytest
from small_tank import SODA, reference, stony, tank

from ramet.services.receiving.correcting import corrections
from ramet.services.receiving.demand import use_on_day
from ramet.services.receiving.supply import balance, supply_table

# 99 g/L of Na2CO3 (105.988 g/mol, two equivalents): 1868 meq/L.
SODA_MEQ_L = 99 / 105.988 * 2000


def row(given, name, pieces):
    return next(one for one in supply_table(reference(), given, pieces) if one.means == name)


def test_the_dose_of_each_day_is_its_use_by_the_strength_of_the_recipe():
    pieces = [stony(f"A{n}") for n in range(6)]
    given = tank(dosing=[SODA])
    for dose in row(given, "soda", pieces).doses:
        used = use_on_day(reference(), given, pieces, dose.day).alkalinity_meq.typical
        assert dose.ml_d == pytest.approx(min(60, used / SODA_MEQ_L * 1000), rel=5e-3)


def test_limewater_is_dosed_as_far_as_it_is_needed_and_before_the_pumps():
    # 2 % of 250 L a day is 5 L of limewater, 204 meq: far more than one coral takes. Nothing is pumped.
    given = tank(limewater=True, evaporation_share_d=0.02, dosing=[SODA])
    used = use_on_day(reference(), given, [stony()], 0).alkalinity_meq.typical
    assert row(given, "limewater", [stony()]).dose_ml_d == pytest.approx(used / 40.8 * 1000, rel=5e-3)
    assert row(given, "soda", [stony()]).dose_ml_d == 0


def test_two_pumps_for_one_thing_share_by_what_they_can_give():
    weak = {"name": "weak", "alkalinity_meq_l": SODA_MEQ_L / 2, "most_ml_d": 60}
    pieces = [stony(f"A{n}") for n in range(6)]
    given = tank(dosing=[SODA, weak])
    strong_ml, weak_ml = (row(given, name, pieces).dose_ml_d for name in ("soda", "weak"))
    used = use_on_day(reference(), given, pieces, 0).alkalinity_meq.typical
    assert strong_ml * SODA_MEQ_L + weak_ml * SODA_MEQ_L / 2 == pytest.approx(1000 * used, rel=1e-2)
    assert strong_ml == pytest.approx(weak_ml, rel=1e-2)


def test_a_reactor_that_gives_more_than_is_used_is_told():
    from ramet.services.tank import tank_report

    rich = {"flow_ml_min": 40, "alkalinity_dkh": 30, "calcium_mg_l": 500}
    _, cautions = tank_report(reference(), tank(reactor=[rich]), (), [stony()])
    assert "alkalinity_rises" in {one.code for one in cautions}
    # 40 mL/min are 57.6 L a day, 22 dKH richer: 1267 dKH·L, 5.07 dKH in 250 L.
    table = supply_table(reference(), tank(reactor=[rich]), [stony()])
    assert table[0].alkalinity_dkh_d == pytest.approx(5.07, abs=0.01)


def test_baking_soda_beyond_what_dissolves_is_told():
    # About 96 to 103 g/L dissolve at 20 to 25 °C (handbook figure, from memory).
    thick = {"name": "thick", "grams_per_l": {"sodium_bicarbonate": 157}, "most_ml_d": 60}
    assert "do not dissolve" in row(tank(dosing=[thick]), "thick", [stony()]).note
    assert "dissolve" not in row(tank(dosing=[SODA]), "soda", [stony()]).note


def test_alkalinity_is_corrected_by_half_a_degree_a_day_at_first():
    # Common practice, no source: at most 1 dKH a day, half of that in the first week. 1.5 dKH: 3 days; in
    # 250 L that is 0.5 × 250 × 0.35665 = 44.6 meq a day, 23.9 mL of 1868 meq/L.
    given = tank(dosing=[SODA], target={"alkalinity_dkh": 9.5})
    (one,) = corrections(reference(), given, [])
    assert (one.days, one.per_day) == (3, 0.5)
    assert one.amount_d == pytest.approx(23.9, abs=0.1)


def test_a_pump_too_small_for_that_takes_longer():
    small = SODA | {"most_ml_d": 10}
    (one,) = corrections(reference(), tank(dosing=[small], target={"alkalinity_dkh": 9.5}), [])
    assert one.days > 3
    assert one.amount_d <= 10


def test_without_a_stock_the_salt_is_weighed():
    # 0.5 dKH in 250 L: 44.6 meq of NaHCO3 (84.007 g/mol), 3.75 g a day.
    (one,) = corrections(reference(), tank(target={"alkalinity_dkh": 9.5}), [])
    assert (one.with_means, one.amount_unit) == ("baking soda", "g")
    assert one.amount_d == pytest.approx(3.75, abs=0.06)


def test_what_is_too_high_is_left_to_fall_and_what_is_close_is_left_alone():
    (high,) = corrections(reference(), tank(target={"alkalinity_dkh": 7}), [])
    assert high.amount_d is None
    assert high.per_day < 0
    assert corrections(reference(), tank(target={"alkalinity_dkh": 8.05, "calcium_mg_l": 424}), []) == ()


def test_calcium_is_raised_by_twenty_milligrams_a_day_at_most():
    # 60 mg/L in 250 L over 3 days: 5 g Ca a day, 18.3 g of CaCl2·2H2O (147.01 / 40.078).
    (one,) = corrections(reference(), tank(target={"calcium_mg_l": 480}), [])
    assert one.days == 3
    assert one.amount_d == pytest.approx(5 * 147.01 / 40.078, abs=0.1)


def test_the_balance_covers_half_a_year_and_agrees_with_the_table():
    given = tank(dosing=[SODA])
    curve = balance(reference(), given, [stony()])
    assert (curve.days[0], curve.days[-1]) == (0, 180)
    assert all(
        low <= mid <= high for low, mid, high in zip(curve.low, curve.typical, curve.high, strict=True)
    )
    assert curve.supply_dkh_d == pytest.approx(row(given, "soda", [stony()]).alkalinity_dkh_d)

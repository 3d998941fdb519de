"""Mineral demand and supply against worked examples of published articles and plain stoichiometry."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from ramet.domain.band import Band, exactly
from ramet.domain.quantities import to_unit
from ramet.science.salts import (
    bicarbonate_g,
    bicarbonate_stock_meq_l,
    calcium_chloride_g,
    carbonate_g,
    dose_ml,
)
from ramet.science.tank import (
    after_change,
    calcification_ueq_d,
    calcium_mg,
    changes_per_day,
    correction_days,
    dkh,
    full_rate_days,
    light_factor,
    limewater_meq_d,
    meq,
    newly_moved_share,
    nitrate_meq_d,
    steady_after_changes,
)
from ramet.science.tank import carbonate_g as skeleton_g

ARITHMETIC = 5e-3
"""Worked examples are printed to three digits or so: half a per cent, unless the test says otherwise."""
US_GALLON_L = 3.785411784


def test_a_degree_of_hardness_is_its_share_of_a_milliequivalent():
    # Definition: 8.0 dKH = 2.853 meq/L = 142.8 mg/L CaCO3.
    assert to_unit("8.0 dKH", "meq_l") == pytest.approx(2.853, rel=ARITHMETIC)
    assert to_unit("142.8 mg/l CaCO3", "meq_l") == pytest.approx(2.853, rel=ARITHMETIC)
    # Top of the natural range, 2.5 meq/L = 7.0 dKH, as an aquarists' page rounds it (2.8 dKH a meq/L).
    assert dkh(2.5, 1.0) == pytest.approx(7.0, rel=ARITHMETIC)


def test_calcium_that_goes_with_a_degree():
    # 7.147 mg/L Ca a dKH, on aquarists' pages and by definition.
    assert calcium_mg(meq(1.0, 1.0)) == pytest.approx(7.147, rel=ARITHMETIC)


def test_calcium_left_after_two_milliequivalents_and_not_what_a_forum_says():
    # Ca 500 mg/L, alkalinity 4.0 to 2.0 meq/L: 459.9 mg/L. A forum post answers 480, with half the calcium.
    left = 500 - calcium_mg(2.0)
    assert left == pytest.approx(459.9, abs=0.1)
    assert abs(left - 480) > 15


def test_baking_soda_in_fifty_litres():
    # 6 g in 50 L: 1.428 meq/L, published as "about 4" dKH.
    raised = bicarbonate_stock_meq_l(6, 50)
    assert raised == pytest.approx(1.428, rel=ARITHMETIC)
    assert dkh(raised * 50, 50) == pytest.approx(4.0, rel=ARITHMETIC)
    assert bicarbonate_g(raised * 50) == pytest.approx(6.0)


def test_the_stock_of_a_well_known_article_is_weaker_than_it_says():
    # 594 g NaHCO3 in a US gallon: 1868 meq/L; the article rounds up to about 1900.
    strong = bicarbonate_stock_meq_l(594, US_GALLON_L)
    assert strong == pytest.approx(1868, rel=ARITHMETIC)
    assert strong < 1890


def test_the_calcium_stock_of_that_article_is_weaker_too():
    # 500 g CaCl2·2H2O in a US gallon: 36,000 mg/L Ca; the article says about 37,000.
    per_litre_mg = 36_000
    assert calcium_chloride_g(per_litre_mg * US_GALLON_L) == pytest.approx(500, rel=ARITHMETIC)
    assert calcium_chloride_g(37_000 * US_GALLON_L) > 510


def test_use_per_day_from_two_readings_and_the_dose_that_replaces_it():
    # Hobby article: 200 L, 8.5 to 7.7 dKH in 4 days, 2.7 mL per 100 L for 0.1 dKH: 0.20 dKH/d, 10.8 mL/d;
    # a correction of 0.5 dKH takes 27 mL.
    stock_meq_l = meq(0.1, 100) / 0.0027
    assert pytest.approx(0.20) == (8.5 - 7.7) / 4
    assert dose_ml(meq(0.20, 200), stock_meq_l) == pytest.approx(10.8)
    assert dose_ml(meq(0.5, 200), stock_meq_l) == pytest.approx(27)


def test_calcium_chloride_for_ten_gallons():
    # +100 mg/L Ca in 37.85 L, anhydrous: 10.48 g.
    assert calcium_chloride_g(100 * 37.85, dihydrate=False) == pytest.approx(10.48, rel=ARITHMETIC)


def test_soda_ash_by_a_pool_keepers_page():
    # 50 L from 30 to 60 mg/L CaCO3 with 98 % soda: 1.62 g (the page shows 1.6).
    assert carbonate_g(30 / 50.0435 * 50, purity=0.98) == pytest.approx(1.62, rel=ARITHMETIC)


def test_saturated_limewater():
    # 0.0204 mol/L: 40.8 meq/L, 818 mg/L Ca, 114.4 dKH; a litre in 100 L: +1.14 dKH, +8.2 mg/L (from memory).
    strength = 0.0204 * 2 * 1000
    assert strength == pytest.approx(40.8)
    assert calcium_mg(strength) == pytest.approx(818, rel=ARITHMETIC)
    assert dkh(strength, 1.0) == pytest.approx(114.4, rel=ARITHMETIC)
    assert dkh(limewater_meq_d(100, 0.01, strength), 100) == pytest.approx(1.14, rel=ARITHMETIC)
    assert calcium_mg(strength) / 100 == pytest.approx(8.2, abs=0.05)


def test_a_rise_of_nitrate_costs_alkalinity():
    # +50 mg/L NO3: -0.806 meq/L = -2.26 dKH (2.3 in the trade). 50 mg/L of nitrate is 50 × 14.007 / 62.005 N.
    lost = nitrate_meq_d(0.050 * 14.0067 / 62.005)
    assert lost == pytest.approx(0.806, rel=ARITHMETIC)
    assert dkh(lost, 1.0) == pytest.approx(2.26, rel=ARITHMETIC)


def test_everything_that_replaces_one_degree_a_day_in_two_hundred_litres():
    # 71.3 meq/d; 3.57 g CaCO3; 1.43 g Ca; 5.99 g NaHCO3 or 3.78 g Na2CO3; 5.24 g CaCl2·2H2O; or
    # 1.75 L of limewater.
    used = meq(1.0, 200)
    assert used == pytest.approx(71.3, rel=ARITHMETIC)
    assert skeleton_g(used) == pytest.approx(3.57, rel=ARITHMETIC)
    assert calcium_mg(used) == pytest.approx(1430, rel=ARITHMETIC)
    assert bicarbonate_g(used) == pytest.approx(5.99, rel=ARITHMETIC)
    assert carbonate_g(used) == pytest.approx(3.78, rel=ARITHMETIC)
    assert calcium_chloride_g(calcium_mg(used)) == pytest.approx(5.24, rel=ARITHMETIC)
    assert used / 40.8 == pytest.approx(1.75, rel=ARITHMETIC)


def test_a_quarter_changed_for_strong_salt_mix_jumps_nearly_a_degree():
    # 11 dKH water into a 7.5 dKH tank at 25 %: +0.9 dKH.
    assert after_change(7.5, 11, 0.25) - 7.5 == pytest.approx(0.875)


@given(st.floats(0.05, 0.9), st.floats(0, 2), st.floats(5, 12))
def test_many_changes_settle_where_the_closed_form_says(share, loss, fresh):
    level = 8.0
    for _ in range(2000):
        level = after_change(level - loss, fresh, share)
    assert level == pytest.approx(steady_after_changes(fresh, loss, share), abs=1e-6)


def test_a_poorer_salt_mix_takes_instead_of_giving():
    assert changes_per_day(7.0, 8.0, 0.1, 7) == pytest.approx(-0.1 / 7)


def test_corrections_keep_to_half_a_degree_in_the_first_week_and_one_after_it():
    # Common practice: at most 1 dKH a day, half of it in the first week.
    assert correction_days(0.4, 1, 0.5) == 1
    assert correction_days(-2.0, 1, 0.5) == 4
    assert correction_days(5.5, 1, 0.5) == 9


@given(st.just(0.0) | st.floats(0.01, 300), st.floats(0.1, 1), st.floats(5, 60))
def test_full_rate_days_are_the_integral_of_the_share(day, factor, lasts):
    points = [point for point in (lasts, 2 * lasts) if point < day] or None
    exact, _ = quad(lambda when: newly_moved_share(when, factor, lasts), 0, day, points=points)
    assert full_rate_days(day, factor, lasts) == pytest.approx(exact, abs=1e-6)


def test_light_and_dark_calcification_keep_their_published_ratio():
    # Light three times dark (Gattuso and others 1999, from memory): the two ends of the curve show it.
    bright, dark = (light_factor(par, 200, 24, dark_share=1 / 3, saturation_share=0.1) for par in (1e6, 0.0))
    assert bright / dark == pytest.approx(3)


def test_a_coral_under_its_usual_light_calcifies_at_its_usual_rate():
    assert light_factor(200, 200, 12, 0.33, 0.6) == pytest.approx(1)


@given(st.floats(1, 400), st.floats(1, 100))
def test_more_light_never_means_less_skeleton(par, more):
    assert light_factor(par + more, 200, 10, 0.33, 0.6) >= light_factor(par, 200, 10, 0.33, 0.6)


def test_a_piece_takes_area_times_rate():
    # 100 cm² of branching Acropora at the NOAA rate of 0.073 meq/cm²/d: 7.3 meq a day.
    taken = calcification_ueq_d(exactly(100), exactly(0.073), exactly(1), exactly(1))
    assert taken.typical == pytest.approx(7300)


def test_the_demand_band_is_wider_than_any_of_its_factors():
    taken = calcification_ueq_d(Band(80, 100, 120), Band(0.03, 0.073, 0.1), exactly(1), Band(0.3, 0.5, 0.8))
    assert taken.low / taken.typical < 0.03 / 0.073
    assert taken.high / taken.typical > 1.6

"""Ammonia from food and filter area against worked examples, and the chance that a filter is enough."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.band import Band, exactly
from ramet.science.biofilter import (
    alive_after_journey,
    ammonia_from_die_off,
    ammonia_from_food_g_d,
    ammonium_chloride_g,
    chance_enough,
    maturity,
    media_area_m2,
    nitrate_made_mg_l,
    nitrification_cost_meq_l,
    temperature_factor,
)
from ramet.science.tank import dkh, nitrate_meq_d


def test_ten_grams_of_feed_and_the_media_for_it():
    # 10 g/d at 45 % protein: 0.414 g TAN/d (Timmons & Ebeling, from memory); 1.48 m² at the most that was
    # measured in seawater, 0.28 g/m²/d (Nijhof & Bovendeur 1990, abstract), 4.14 m² at 0.10. ±0.5 %.
    load = ammonia_from_food_g_d(10, 0.45, 0.092)
    assert load == pytest.approx(0.414, rel=5e-3)
    assert media_area_m2(load, 0.28) == pytest.approx(1.48, rel=5e-3)
    assert media_area_m2(load, 0.10) == pytest.approx(4.14, rel=5e-3)


def test_four_degrees_colder_is_a_quarter_slower():
    # 1.06 to 1.10 a degree (from memory): 0.68 to 0.79 at 20 °C.
    assert 0.68 < temperature_factor(20, 1.08) < 0.79
    assert temperature_factor(24, 1.08) == 1


def test_media_mature_in_a_straight_rise():
    assert maturity(0, 7) == 0
    assert maturity(3.5, 7) == 0.5
    assert maturity(52, 7) == 1


def test_die_off_is_spread_over_its_days():
    # 1000 cm² at 0.4 mg N/cm², 3 % lost in 3 days: 4 mg a day.
    freed = ammonia_from_die_off(exactly(1000), exactly(0.0004), exactly(0.03), 3)
    assert freed.typical == pytest.approx(0.004)


def test_the_chance_agrees_with_drawing_both_at_random():
    # Monte Carlo of the same two log-normals, 200,000 draws: standard error 0.001.
    capacity, load = Band(0.03, 0.09, 0.24), Band(0.03, 0.05, 0.08)
    dice = np.random.default_rng(1)

    def draws(band: Band) -> np.ndarray:
        sigma = np.log(band.high / band.low) / (2 * 1.6449)
        return band.typical * np.exp(sigma * dice.standard_normal(200_000))

    share = float(np.mean(draws(capacity) > draws(load)))
    assert chance_enough(capacity, load) == pytest.approx(share, abs=0.005)


def test_ends_of_the_scale():
    assert chance_enough(exactly(0), exactly(0)) == 1
    assert chance_enough(exactly(0), exactly(1)) == 0
    assert chance_enough(exactly(2), exactly(1)) == 1
    assert chance_enough(exactly(1), exactly(2)) == 0


@given(st.floats(0.01, 10), st.floats(1.01, 3))
def test_more_media_never_lower_the_chance(size, more):
    capacity, load = Band(0.5 * size, size, 2 * size), Band(0.5, 1, 2)
    assert chance_enough(capacity.scaled(more), load) >= chance_enough(capacity, load)


def test_a_film_halves_with_each_halving_time():
    # Closed form: after two halving times a quarter is left.
    assert alive_after_journey(48, Band(24, 24, 24)).typical == pytest.approx(0.25)
    assert alive_after_journey(0, Band(12, 24, 96)).low == 1


def test_the_ready_test_by_molar_masses():
    # 1 mg/L of N in 100 L is 100 mg N; ammonium chloride is 14.007 / 53.491 nitrogen: 0.382 g. It becomes
    # 62.005 / 14.007 = 4.43 mg/L of nitrate and takes two equivalents a mole: 0.143 meq/L, 0.40 dKH.
    assert ammonium_chloride_g(1, 100) == pytest.approx(0.382, rel=2e-3)
    assert nitrate_made_mg_l(1) == pytest.approx(4.43, rel=2e-3)
    assert dkh(nitrification_cost_meq_l(1), 1.0) == pytest.approx(0.40, rel=1e-2)


def test_salt_costs_twice_the_alkalinity_of_food():
    # Food nitrogen ends as nitrate for one equivalent a mole (Holmes-Farley, from memory); ammonium salt has
    # no base of its own and takes two.
    assert nitrification_cost_meq_l(14.007) == pytest.approx(2 * nitrate_meq_d(14.007 / 1000), rel=1e-3)

"""Rates with their bands, and how a grower's readings correct them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from ramet.domain.words import Form
from ramet.science.areas import Size
from ramet.science.growth import Sizes, grown, grown_sizes, laws_of, skeleton_g
from ramet.science.growth_rate import (
    Z90,
    LogNormalRate,
    doubling_rate_d,
    log_rate,
    rate_of_band,
    updated,
    updated_groups,
)

RATES = st.floats(0.05, 20)


def test_a_band_of_a_table_is_the_ninety_percent_band_of_its_rate():
    # Pocillopora, branching: 2.306 ± 0.558 cm/yr (NOAA table, Barkley 2023); against scipy's log-normal.
    rate = rate_of_band(2.306 - 0.558, 2.306, 2.306 + 0.558)
    low, high = stats.lognorm.ppf([0.05, 0.95], rate.sigma, scale=math.exp(rate.mu))
    assert rate.quantile(0) == pytest.approx(2.306)
    assert (rate.quantile(-Z90), rate.quantile(Z90)) == pytest.approx((low, high), rel=1e-9)
    assert high / low == pytest.approx((2.306 + 0.558) / (2.306 - 0.558), rel=1e-9)


def test_a_rate_from_a_single_study_is_good_to_a_factor_of_two():
    # Husbandry practice: single-study genera deserve times 0.5 to times 2 (Seriatopora 1.1 cm/yr).
    rate = rate_of_band(1.105, 1.105, 1.105)
    assert rate.quantile(-Z90) == pytest.approx(1.105 / 2)
    assert rate.quantile(Z90) == pytest.approx(1.105 * 2)


@given(st.lists(st.tuples(RATES, st.floats(0.02, 1)), min_size=1, max_size=8), RATES, st.floats(0.1, 1))
def test_the_update_is_bayes_rule_on_a_fine_grid(seen, typical, between):
    prior = LogNormalRate(math.log(typical), 0.6)
    logs, errors = [math.log(rate) for rate, _ in seen], [error for _, error in seen]
    found = updated(prior, logs, errors, between)
    grid = np.linspace(-8, 8, 20_001)
    density = stats.norm.logpdf(grid, prior.mu, prior.sigma)
    for log, error in zip(logs, errors, strict=True):
        density += stats.norm.logpdf(grid, log, math.hypot(error, between))
    weight = np.exp(density - density.max())
    weight /= weight.sum()
    mean = float((weight * grid).sum())
    assert found.mu == pytest.approx(mean, abs=2e-3)
    assert found.sigma == pytest.approx(math.sqrt(float((weight * (grid - mean) ** 2).sum())), abs=2e-3)


def test_strains_are_corrected_each_by_its_own_pieces():
    mu, sigma = np.array([0.0, 0.0]), np.array([0.5, 0.5])
    group = np.array([1, 1])
    after, spread = updated_groups(mu, sigma, group, [1.0, 1.0], [0.1, 0.1], 0.3)
    assert (after[0], spread[0]) == (0.0, 0.5)
    assert 0 < after[1] < 1
    assert spread[1] < 0.5


def test_a_piece_that_seems_to_have_shrunk_counts_as_slow_and_for_little():
    logs, errors = log_rate(np.array([-0.1, 2.0]), 0.2, np.array([1.0, 1.0]))
    assert logs[0] == pytest.approx(math.log(0.1))
    assert errors[0] == pytest.approx(2.0)
    assert errors[1] == pytest.approx(0.1)


def test_doubling_in_thirty_days_is_the_rate_of_pocillopora_acuta():
    # Pocillopora acuta, fed: 175 mg/g/week, a specific rate of 0.0230 a day (PMC7673984).
    assert doubling_rate_d(30.1) == pytest.approx(0.0230, abs=5e-5)


@given(
    st.sampled_from(list(Form)),
    st.floats(5, 300),
    st.floats(5, 300),
    st.floats(5, 300),
    st.none() | st.integers(1, 60),
    st.floats(0.1, 20),
    st.floats(0, 900),
)
def test_many_pieces_grow_as_each_would_alone(form, length, width, height, heads, extension, days):
    doubling = 100.0
    law = laws_of([form])
    rate = np.array([doubling_rate_d(doubling) if law.doubles[0] else extension])
    sizes = Sizes(
        np.array([length]),
        np.array([width]),
        np.array([height]),
        np.array([math.nan if heads is None else heads]),
    )
    many = grown_sizes(law, sizes, rate, np.array([days]), 8.0)
    alone = grown(form, Size(length, width, height, heads), extension, days, doubling, 8.0)
    assert (many.length_mm[0], many.width_mm[0], many.height_mm[0]) == pytest.approx(
        (alone.length_mm, alone.width_mm, alone.height_mm)
    )
    if heads is not None:
        assert abs(many.heads[0] - (alone.heads or 0)) <= (1 if law.doubles[0] else 0)


def test_a_skeleton_weighs_half_as_much_again_as_it_does_in_seawater():
    # Dry = buoyant / (1 - 1.0233 / 2.93) = 1.537 times (Spencer Davies 1989, from memory); 25 °C, 35.
    assert skeleton_g(10.0, 1023.3) == pytest.approx(15.37, abs=0.01)


@pytest.mark.parametrize("density", [0.0, 1.025, 900.0, 1100.0])
def test_water_of_another_kind_is_refused(density):
    with pytest.raises(ValueError, match="990 to 1060"):
        skeleton_g(10.0, density)

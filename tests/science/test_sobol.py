"""Sobol points against scipy's, and what scrambling must keep."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from journey_cases import ON_TIME, PARAMETERS
from scipy.special import ndtri
from scipy.stats import qmc

from ramet.science.scenarios import DRAWN, draw
from ramet.science.sobol import MOST_DIMENSIONS, sobol_points_joe_kuo_2008


def test_plain_points_are_those_of_scipy() -> None:
    # scipy.stats.qmc.Sobol, direction numbers of Joe & Kuo 2008; equal to the last bit.
    theirs = qmc.Sobol(MOST_DIMENSIONS, scramble=False, bits=30).random(1024)
    assert (sobol_points_joe_kuo_2008(MOST_DIMENSIONS, 1024, None) == theirs).all()


@given(seed=st.integers(0, 2**31), power=st.integers(1, 9))
def test_each_dimension_has_one_point_in_each_slice(seed: int, power: int) -> None:
    count = 2**power
    points = sobol_points_joe_kuo_2008(MOST_DIMENSIONS, count, seed)
    assert ((points >= 0) & (points < 1)).all()
    for column in np.floor(points * count).astype(int).T:
        assert sorted(column) == list(range(count))


def test_a_seed_repeats_itself_and_another_differs() -> None:
    one, again, other = (sobol_points_joe_kuo_2008(4, 64, seed) for seed in (7, 7, 8))
    assert (one == again).all()
    assert not (one == other).any()


def test_scrambled_points_integrate_better_than_plain_chance() -> None:
    # The mean of a product of 8 factors with mean 1: the error falls faster than 1 / sqrt(n).
    points = sobol_points_joe_kuo_2008(8, 4096, 3)
    error = abs(float(np.prod(1 + 0.5 * (points - 0.5), axis=1).mean()) - 1)
    assert error < 0.1 * 0.5 / np.sqrt(4096)


@pytest.mark.parametrize("dimensions", [0, 17])
def test_more_or_fewer_dimensions_than_are_known_are_refused(dimensions: int) -> None:
    with pytest.raises(ValueError, match="1 to 16"):
        sobol_points_joe_kuo_2008(dimensions, 8, 1)


def test_draws_are_the_normal_deviates_of_the_points() -> None:
    # scipy.special.ndtri (Cephes) on the same points, cut at three standard deviations.
    points = sobol_points_joe_kuo_2008(len(DRAWN), 64, 5)
    drawn = draw(PARAMETERS, ON_TIME, 64, 5)
    for place, name in enumerate(DRAWN):
        wanted = np.clip(ndtri(points[:, place]), -3.0, 3.0)
        assert drawn.deviates[name] == pytest.approx(wanted, abs=1e-12)

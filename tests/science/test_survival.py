"""A share of survivors with its band, against closed forms and an integral of another kind."""

from math import lgamma

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.science.survival import jeffreys_interval_brown2001


def beta_cdf_by_sum(a: float, b: float, x: float) -> float:
    """The Beta distribution by Simpson's rule in u = sqrt(t): smooth at 0 for a = 1/2, too."""
    u = np.linspace(0, np.sqrt(x), 20_001)
    with np.errstate(divide="ignore", invalid="ignore"):
        log = (2 * a - 1) * np.log(u) + (b - 1) * np.log1p(-(u**2))
    values = 2 * np.exp(log + lgamma(a + b) - lgamma(a) - lgamma(b))
    values[0] = 0.0 if a > 0.5 else 2 * np.exp(lgamma(a + b) - lgamma(a) - lgamma(b))
    step = u[1] - u[0]
    return float(step / 3 * (values[0] + 4 * values[1:-1:2].sum() + 2 * values[2:-1:2].sum() + values[-1]))


@pytest.mark.parametrize(("alive", "watched"), [(1, 4), (5, 10), (9, 10), (28, 40), (3, 200)])
def test_each_end_leaves_two_and_a_half_percent_outside(alive: int, watched: int) -> None:
    """The definition in Brown, Cai and DasGupta (2001), integrated without the library's function."""
    low, high = jeffreys_interval_brown2001(alive, watched)
    a, b = alive + 0.5, watched - alive + 0.5
    assert beta_cdf_by_sum(a, b, low) == pytest.approx(0.025, abs=1e-6)
    assert beta_cdf_by_sum(a, b, high) == pytest.approx(0.975, abs=1e-6)


def test_one_of_one_has_the_closed_form_of_the_arc_sine_law() -> None:
    """Beta(1/2, 1/2) is the arc-sine law (textbook): its quantile is sin²(πp/2). None watched has no data;
    Beta(3/2, 1/2) has the distribution (2/π)(asin √x - √(x(1-x)))."""
    low, high = jeffreys_interval_brown2001(1, 1)
    assert (2 / np.pi) * (np.arcsin(np.sqrt(low)) - np.sqrt(low * (1 - low))) == pytest.approx(0.025)
    assert high == 1.0


def test_all_or_none_alive_reach_the_edge_and_nobody_watched_tells_nothing() -> None:
    assert jeffreys_interval_brown2001(0, 8)[0] == 0.0
    assert jeffreys_interval_brown2001(8, 8)[1] == 1.0
    assert jeffreys_interval_brown2001(0, 0) == (0.0, 1.0)


@given(st.integers(1, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_band_holds_the_share_and_mirrors_when_alive_and_dead_are_swapped(pair: tuple[int, int]) -> None:
    alive, watched = pair
    low, high = jeffreys_interval_brown2001(alive, watched)
    assert 0 <= low <= alive / watched <= high <= 1
    mirrored = jeffreys_interval_brown2001(watched - alive, watched)
    assert mirrored == pytest.approx((1 - high, 1 - low), abs=1e-9)


def test_more_watched_narrows_the_band() -> None:
    widths = [high - low for low, high in (jeffreys_interval_brown2001(n // 2, n) for n in (4, 16, 64, 256))]
    assert widths == sorted(widths, reverse=True)
    assert widths[2] / widths[3] == pytest.approx(2, rel=0.03)  # as one over the root of the number


@pytest.mark.parametrize(("alive", "watched", "level"), [(3, 2, 0.95), (-1, 2, 0.95), (1, 2, 1.0)])
def test_what_cannot_be_counted_is_refused(alive: int, watched: int, level: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        jeffreys_interval_brown2001(alive, watched, level)

"""Light from lamps in closed forms, and a fit that finds what made the readings."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramet.science.lamps import LampPoint, fit_lamps, shape

LAMP = LampPoint((500, 300, 800), 60)


def at(*places, loss=0.0, lamps=(LAMP,), surface=500):
    return shape(lamps, surface, np.array(places, dtype=float), loss)


def test_light_falls_with_the_square_of_the_distance():
    # Twice as far below the lamp: a quarter (inverse square law), in water that takes nothing.
    near, far = at((500, 300, 400), (500, 300, 0))
    assert near / far == pytest.approx(4)


def test_half_the_intensity_at_the_half_angle():
    # A lamp of half angle 60° is even: cos 60° = 1/2. On a level sensor at the same distance the light is
    # half for the beam and half again for its slant.
    for angle in (30, 45, 60):
        lamp = LampPoint((0, 0, 1000), angle)
        slant = math.radians(angle)
        below, aside = at(
            (0, 0, 0), (1000 * math.sin(slant), 0, 1000 - 1000 * math.cos(slant)), lamps=(lamp,), surface=-1
        )
        assert aside / below == pytest.approx(0.5 * math.cos(slant))


def test_water_takes_light_by_beer_and_lambert():
    # Straight down through 0.5 m at 1 per metre: exp(-0.5).
    assert at((500, 300, 0), loss=1.0)[0] / at((500, 300, 0))[0] == pytest.approx(math.exp(-0.5))


@settings(max_examples=25, deadline=None)
@given(st.floats(20, 200), st.sampled_from([0.0, 0.25, 0.5, 1.0]), st.integers(0, 999))
def test_the_fit_finds_the_strength_and_loss_that_made_the_readings(strength, loss, seed):
    draw = np.random.default_rng(seed)
    lamps = (LampPoint((300, 300, 750), 50), LampPoint((900, 300, 750), 50))
    places = [(draw.uniform(50, 1150), draw.uniform(50, 550), draw.uniform(0, 450)) for _ in range(8)]
    readings = [(place, float(strength * shape(lamps, 500, np.array([place]), loss)[0])) for place in places]
    found = fit_lamps(lamps, 500, readings, 0.4, 0.1)
    assert found.strength == pytest.approx(strength, rel=1e-6)
    assert found.loss_per_m == pytest.approx(loss, abs=1e-9)
    assert found.error_share == 0.1
    assert found.par(readings[0][0]) == pytest.approx(readings[0][1], rel=1e-6)


def test_readings_that_scatter_widen_the_error():
    lamps = (LAMP,)
    places = [(100.0 * k, 300.0, 50.0 * k) for k in range(6)]
    exact = 80 * shape(lamps, 500, np.array(places), 0.4)
    noisy = [
        (place, float(par * (1.5 if k % 2 else 0.7)))
        for k, (place, par) in enumerate(zip(places, exact, strict=True))
    ]
    assert fit_lamps(lamps, 500, noisy, 0.4, 0.1).error_share > 0.25


def test_one_reading_is_a_wrong_call():
    with pytest.raises(ValueError, match="at least 2"):
        fit_lamps((LAMP,), 500, [((0.0, 0.0, 0.0), 100.0)], 0.4, 0.1)

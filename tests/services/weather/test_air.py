"""Air around a departure: its own hours as they stand, other hours by the nearest day."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.services.weather.air import Air

DAY = Air(np.arange(0.0, 31), np.arange(0.0, 31), 30.0, None, 0.0, "rising", "")
SHORT = Air(np.array([0.0, 10]), np.array([5.0, 15]), 10.0, None, 0.0, "short", "")


def test_inside_its_hours_a_record_is_itself():
    assert DAY.at(np.array([0, 12.5, 30])) == pytest.approx([0, 12.5, 30])


def test_past_its_end_a_long_record_repeats_its_last_day_and_before_its_start_its_first():
    assert DAY.at(np.array([31.0, 36, 54, 55])) == pytest.approx([7, 12, 30, 7])
    assert DAY.at(np.array([-1.0, -24, -25])) == pytest.approx([23, 0, 23])


def test_a_short_record_holds_its_ends():
    assert SHORT.at(np.array([-5.0, 20])) == pytest.approx([5, 15])


def test_a_window_starts_at_its_own_zero_and_keeps_every_corner():
    hours, temperature = DAY.window(6.0, 10.0)
    assert hours[0] == 0
    assert hours[-1] == 10
    assert temperature == pytest.approx(hours + 6)
    assert DAY.covers(6, 16)
    assert not DAY.covers(25, 35)


@given(st.floats(-30, 60), st.floats(1, 90), st.floats(0, 1))
def test_a_window_is_the_air_itself_at_its_corners(from_h, length, share):
    hours, temperature = DAY.window(from_h, length)
    assert np.all(np.diff(hours) > 0)
    assert temperature == pytest.approx(DAY.at(hours + from_h))
    assert temperature.min() >= 0
    assert temperature.max() <= 30

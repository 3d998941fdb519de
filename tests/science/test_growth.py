"""Growth laws against worked examples from published rates."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.words import Form
from ramet.science.areas import Size
from ramet.science.growth import (
    branch_length_cm,
    days_to_length,
    disc_area_cm2,
    doubling_days,
    growing_days,
    grown,
    heads_after,
    mat_area_cm2,
    specific_growth_rate_d,
)


def test_a_published_weekly_gain_gives_its_daily_rate_and_doubling():
    # Pocillopora acuta, 175 mg/g/week (PMC7673984): ln 1.175 / 7 = 0.02304 a day, doubling 30.1 d.
    rate = specific_growth_rate_d(1.0, 1.175, 7)
    assert rate == pytest.approx(0.02304, abs=5e-6)
    assert doubling_days(rate) == pytest.approx(30.1, abs=0.05)


def test_a_staghorn_branch_reaches_five_centimetres_in_a_third_of_a_year():
    # 2 to 5 cm at 8.638 cm/yr (NOAA table, Acropora branching): 127 d and the healing lag.
    assert days_to_length(2, 5, 8.638) == pytest.approx(127, abs=0.5)
    assert days_to_length(2, 5, 8.638, healing_d=10) == pytest.approx(137, abs=0.5)


def test_a_disc_grows_from_three_to_fourteen_square_centimetres_in_a_year():
    # Radius 1 cm, +1.091 cm/yr (Porites): 3.14 to 13.74 cm², times 4.37.
    assert disc_area_cm2(1.0, 1.091, 0) == pytest.approx(3.14, abs=0.005)
    assert disc_area_cm2(1.0, 1.091, 365) == pytest.approx(13.74, abs=0.01)
    assert disc_area_cm2(1.0, 1.091, 365) / disc_area_cm2(1.0, 1.091, 0) == pytest.approx(4.37, abs=0.005)


def test_nothing_grows_before_the_wound_is_closed():
    assert growing_days(9, 10) == 0
    assert branch_length_cm(3, 10, 9, healing_d=10) == 3
    assert mat_area_cm2(5, 30, 9, most=100, healing_d=10) == 5


def test_heads_double_and_stop_at_the_room_they_have():
    assert heads_after(3, 240, 240, most=50) == pytest.approx(6)
    assert heads_after(3, 240, 5000, most=50) == 50


def test_a_coral_that_does_not_grow_never_gets_there():
    assert math.isinf(days_to_length(2, 5, 0))
    assert days_to_length(6, 5, 0) == 0


@given(st.sampled_from(Form), st.floats(0, 20), st.floats(0, 400), st.floats(0, 400))
def test_no_piece_shrinks_with_time(form, extension, early, more):
    size = Size(40, 30, 20, 3)
    first = grown(form, size, extension, early, doubling_d=100, most=8)
    later = grown(form, size, extension, early + more, doubling_d=100, most=8)
    assert later.length_mm >= first.length_mm >= size.length_mm
    assert later.height_mm >= first.height_mm >= size.height_mm
    assert later.heads >= first.heads >= 3


def test_a_branch_grows_upwards_by_the_published_extension():
    # NOAA table, Acropora branching fast growth: 8.638 cm a year.
    assert grown(Form.BRANCHING, Size(40, 30, 20), 8.638, 365, 1e9, 1).height_mm == pytest.approx(106.38)

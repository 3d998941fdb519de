"""Floating a bag: Newton's law in closed form."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from ramet.science.arrival import bag_time_constant_min, float_minutes, opening_times_min


def test_the_time_constant_is_heat_over_conductance():
    # 0.4 kg of water, 4.1 kJ/(L K), 80 W/m²K over 0.025 m²: 1640 J/K / 2 W/K = 820 s.
    assert bag_time_constant_min(0.4, 4100, 80, wetted_cm2=250) == pytest.approx(820 / 60)


def test_float_time_agrees_with_an_integrator():
    tau = 12.0
    minutes = float_minutes(21.5, 25.0, 1.0, tau)
    run = solve_ivp(lambda _, c: (25.0 - c) / tau, (0, minutes), [21.5], rtol=1e-10, atol=1e-12)
    assert run.y[0, -1] == pytest.approx(24.0, abs=1e-6)


def test_a_bag_at_the_tanks_temperature_needs_no_floating():
    assert float_minutes(24.5, 25, 1, 12) == 0


def test_a_frag_bag_floats_for_a_quarter_to_half_an_hour():
    # Common practice, no source: 15 to 30 min. 0.4 L at 22 °C into 25 °C, U from 40 to 80 W/m²K.
    slow = float_minutes(22, 25, 1, bag_time_constant_min(0.4, 4100, 40))
    quick = float_minutes(22, 25, 1, bag_time_constant_min(0.4, 4100, 80))
    assert 10 <= quick <= slow <= 30


@given(st.floats(0.05, 5), st.floats(1.1, 8))
def test_a_bigger_bag_floats_longer(water, times):
    assert bag_time_constant_min(water * times, 4100, 80) > bag_time_constant_min(water, 4100, 80)


@given(st.floats(10, 40), st.floats(20, 28), st.floats(0.2, 2), st.floats(1, 60))
def test_after_floating_the_bag_is_within_reach(bag, tank, within, tau):
    minutes = float_minutes(bag, tank, within, tau)
    assert abs(bag - tank) * math.exp(-minutes / tau) <= within * (1 + 1e-9)


def test_bags_are_opened_one_after_the_other_and_none_before_it_has_floated():
    # By hand: boxes come 15 min early; 10 min floating is done by then, 30 min is not before minute 15.
    assert opening_times_min([10, 30, 10], 6, -15) == [0, 15, 21]
    assert opening_times_min([0, 0, 0], 5, 0) == [0, 5, 10]
    assert opening_times_min([], 5, 0) == []


@given(st.lists(st.floats(0, 60), max_size=30), st.floats(1, 15), st.floats(-120, 0))
def test_no_bag_waits_for_the_one_behind_it(floats, per_bag, boxes_at):
    times = opening_times_min(floats, per_bag, boxes_at)
    assert all(after - before >= per_bag - 1e-9 for before, after in pairwise(times))
    assert all(at - boxes_at >= one - 1e-9 for one, at in zip(floats, times, strict=True))

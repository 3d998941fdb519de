"""Light plans and the daily light integral against worked examples."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.science.light import LightRule, daily_light_mol_m2, light_on_day, light_plan

RULE = LightRule(start_fraction=2 / 3, hold_d=7, rise_per_week=0.10, settle_d=21)


def test_daily_light_integral():
    # PAR 250 for 12 h: 250 × 3600 × 12 / 10⁶ = 10.8 mol/m²/d.
    assert daily_light_mol_m2(250, 12) == pytest.approx(10.8)


def test_from_eighty_to_two_hundred_and_fifty_takes_twelve_weeks_of_a_tenth():
    # 12 weeks at 10 % a week, 24 at 5 % (ln(250/80) / ln 1.1 = 11.96; / ln 1.05 = 23.4, rounded up there).
    weeks = (light_plan(80, 250, RULE).days - 7) / 7
    assert weeks == pytest.approx(12, abs=0.1)
    slow = light_plan(80, 250, LightRule(2 / 3, 7, 0.05, 21))
    assert math.ceil((slow.days - 7) / 7) == 24


def test_a_piece_starts_at_the_lower_of_old_light_and_two_thirds_of_the_target():
    # Common practice, no source.
    assert light_plan(300, 240, RULE).start_par == pytest.approx(160)
    assert light_plan(100, 240, RULE).start_par == 100
    assert light_plan(None, 240, RULE).start_par == pytest.approx(160)


def test_a_usual_move_takes_three_to_six_weeks():
    # Common practice, no source: three to six weeks from two thirds of the target.
    assert 21 <= light_plan(None, 240, RULE).days <= 42


@given(st.one_of(st.none(), st.floats(1, 900)), st.floats(5, 600), st.floats(0, 400), st.floats(0, 60))
def test_light_only_rises_and_by_no_more_than_a_tenth_a_week(source, target, day, more):
    plan = light_plan(source, target, RULE)
    early, later = light_on_day(plan, day), light_on_day(plan, day + more)
    assert plan.start_par <= early * (1 + 1e-12)
    assert early <= later * (1 + 1e-12)
    assert later <= target * (1 + 1e-12)
    assert later / early <= 1.1 ** (more / 7) * (1 + 1e-9)

"""One lamp for all: ramp rules are common practice without a source."""

from datetime import date
from itertools import pairwise

import pytest
from small_tank import reference, soft, stony, tank

from ramet.formats.tank_report import FreeSpot
from ramet.services.receiving.lamp_setting import lamp_plan, ramp, shades
from ramet.services.receiving.light_steps import light_steps

DEEP = stony("A2", source_par=90.0, spot_par=250.0)
BRIGHT = [stony(f"A{n}", source_par=260.0, spot_par=250.0) for n in range(5)]


def test_the_lamp_starts_at_two_thirds_and_rises_by_at_most_a_tenth_a_week():
    way = ramp(reference(), tank(), BRIGHT)
    assert way.shares[0] == pytest.approx(2 / 3, abs=0.01)
    assert way.shares[-1] == 1
    assert way.days[1] >= 7
    assert all(after / before <= 1.1 + 1e-9 for before, after in pairwise(way.shares))
    assert 21 <= way.days[-1] <= 42  # three to six weeks for a usual move


def test_one_coral_from_the_dark_gets_mesh_and_the_lamp_stays_for_the_rest():
    found = shades(reference(), tank(), [*BRIGHT, DEEP], ())
    assert set(found) == {"A2"}
    steps = {one.piece: one for one in light_steps(reference(), tank(), [*BRIGHT, DEEP])}
    assert steps["A2"].mesh > 0.3
    assert steps["A2"].start_par == pytest.approx(90, rel=0.25)
    assert steps["A2"].mesh_until_day > steps["A0"].days
    assert "mesh" in steps["A2"].verdict


def test_a_tank_of_corals_from_the_dark_starts_with_a_weaker_lamp():
    deep = [stony(f"A{n}", source_par=110.0, spot_par=250.0) for n in range(5)]
    assert ramp(reference(), tank(), deep).shares[0] < 0.5
    assert shades(reference(), tank(), deep, ()) == {}


def test_a_dimmer_free_spot_is_offered_once():
    spot = FreeSpot(spot="S1", zone="floor", at_mm=(10, 20), par=130.0, room_mm=90)
    twins = [DEEP, stony("A3", source_par=90.0, spot_par=250.0)]
    found = shades(reference(), tank(), [*BRIGHT, *twins], (spot,))
    assert sorted(one.or_at for one in found.values()) == ["", "S1"]


def test_steps_carry_dates_and_the_power_at_which_light_was_measured():
    plan = lamp_plan(reference(), tank(lamp_share=0.5), BRIGHT, date(2027, 1, 20))
    assert plan.steps[0].on == date(2027, 1, 20)
    assert plan.steps[-1].power == 0.5
    assert plan.steps[1].on == date(2027, 1, 27)
    assert "not recorded" in plan.note


def test_a_day_of_light_too_long_or_too_short_says_which_length_would_do():
    # 32 mol/m²/d may inhibit (DiPerna and others 2018): 390 µmol bears 32e6 / 3600 / 390 = 22.8 h at most.
    bright = stony("A1", "Stylophora pistillata", source_par=390.0, spot_par=390.0)
    long_day = light_steps(reference(), tank(photoperiod_h=24), [bright])[0]
    assert long_day.daily_mol_m2 == pytest.approx(390 * 3600 * 24 / 1e6, abs=0.1)
    assert "at most 22.8 h" in long_day.verdict
    short = light_steps(reference(), tank(photoperiod_h=2), [soft(spot_par=110.0)])[0]
    assert "is little" in short.verdict

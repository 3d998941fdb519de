"""What moves a hold most: each parameter alone at its 5th and 95th percentile."""

import math

import numpy as np
import pytest
from trial_text import WARM, read

from ramet.reference.tables import load_reference
from ramet.science.scenarios import DRAWN, P95
from ramet.services.trials.sensitivity import one_at_a_time, sensitivities
from ramet.services.trials.trial import packed

REFERENCE = load_reference()


def moved(tmp_path, text: str):
    trial = read(tmp_path, text, REFERENCE)
    return sensitivities(REFERENCE, trial, packed(REFERENCE, trial.written))


def test_every_parameter_moves_alone_and_by_its_whole_band():
    scenarios = one_at_a_time()
    assert scenarios.count == 2 * len(DRAWN)
    table = np.array([scenarios.deviates[name] for name in DRAWN])
    assert np.count_nonzero(table, axis=0).tolist() == [1] * scenarios.count
    assert set(table[table != 0]) == {-P95, P95}


def test_breathing_leads_where_oxygen_ends_the_hold_and_more_of_it_is_shorter(tmp_path):
    found = moved(tmp_path, WARM)[0]
    swings = [row.swing_h for row in found.moved_by]
    assert swings == sorted(swings, reverse=True)
    rows = {row.parameter: row for row in found.moved_by}
    assert rows["respiration"].hold_low_h > rows["respiration"].hold_high_h
    assert "ambient" not in rows  # the record is given as certain
    assert "pack_watts" not in rows  # and no pack is in the box


def test_a_cooling_bag_hangs_on_the_weather_as_newton_says(tmp_path):
    """A bag in the open air cools as one body: t = τ ln((T0 - Ta) / (Tl - Ta)), Newton's law of cooling."""
    text = """
[ambient]
hours = [0, 24]
temperature_c = [8, 8]
uncertain_c = 4
[[bag]]
water_l = 3
gas_l = 3
[[bag.animal]]
taxon = "Nobody knows"
tissue_area_cm2 = 1
"""
    weather = next(row for row in moved(tmp_path, text)[0].moved_by if row.parameter == "ambient")
    at_once = {row.code: row.level for row in REFERENCE.limits("ordinary")}["cold_at_once"]

    def ratio(air_c: float) -> float:
        return math.log((25 - air_c) / (at_once - air_c))

    tau = weather.hold_low_h / ratio(4.0)
    # 2 %: limits are met between steps on a line, and cooling is a curve.
    assert weather.hold_high_h == pytest.approx(tau * ratio(12.0), rel=0.02)


def test_a_bag_that_nothing_breaks_says_so(tmp_path):
    found = moved(tmp_path, WARM.replace("= 60", "= 0.1").replace("gas_l = 0.2", "gas_l = 2"))[0]
    assert found.moved_by == ()
    assert found.looked_h == 72


def test_goods_alone_have_nothing_to_tell(tmp_path):
    assert moved(tmp_path, WARM[: WARM.index("[[box.bag]]")] + "[[box.mass]]\nkg = 5\n") == ()

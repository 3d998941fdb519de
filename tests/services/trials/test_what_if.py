"""What-ifs: each change against the same trial as written, over the same draws."""

from functools import cache

import numpy as np
import pytest
from trial_text import COLD, WARM, read

from ramet.formats.transit_result import WhatIfRow
from ramet.reference.tables import load_reference
from ramet.science.journey import forecast
from ramet.science.packed import Lateness
from ramet.science.scenarios import draw
from ramet.services.trials.transit_inputs import transit_parameters
from ramet.services.trials.trial import packed, surroundings_of
from ramet.services.trials.what_if import AS_WRITTEN, Change, changes, compare, waiting, what_ifs

REFERENCE = load_reference()
DRAWS = 64


@pytest.fixture(scope="module")
def answered(tmp_path_factory):
    @cache
    def rows(text: str) -> dict[str, WhatIfRow]:
        folder = tmp_path_factory.mktemp("trial")
        return {row.change: row for row in what_ifs(REFERENCE, read(folder, text, REFERENCE), DRAWS, 1)}

    return rows


def test_gas_and_oxygen_lengthen_a_hold_that_oxygen_ends(answered):
    # Common practice, no source: a third of water outlasts a nearly full bag, oxygen outlasts air.
    rows = answered(WARM)
    assert rows[AS_WRITTEN].first_limit in {"oxygen_low", "oxygen_very_low"}
    assert rows["less_water"].delta_p05_h > 1
    assert rows["oxygen"].delta_p05_h > rows["less_water"].delta_p05_h
    assert "more_water" in rows or 0.2 <= 0.4 / 3
    assert rows["double_bag"].delta_p05_h <= 0.05


def test_a_heat_pack_lengthens_a_hold_that_cold_ends_and_oxygen_does_not(answered):
    rows = answered(COLD)
    assert rows[AS_WRITTEN].first_limit in {"cold", "cold_at_once"}
    assert rows["more_heat"].delta_p05_h > 0.1 * rows[AS_WRITTEN].hold_p05_h
    assert abs(rows["oxygen"].delta_p05_h) < 0.05
    assert "less_heat" not in rows


def test_a_day_at_the_depot_needs_a_day_more(answered):
    rows = answered(COLD)
    assert rows["depot"].needed_h == rows[AS_WRITTEN].needed_h + 24
    assert rows["depot"].margin_h == pytest.approx(
        rows["depot"].hold_p05_h - rows["depot"].needed_h, abs=2e-3
    )


def test_the_same_trial_twice_differs_by_nothing(tmp_path):
    trial = read(tmp_path, WARM, REFERENCE)
    some = (Change(AS_WRITTEN, "as written", trial.written), Change("same", "the same", trial.written))
    first, second = compare(REFERENCE, trial, some, DRAWS, 3)
    assert second.delta_p05_h == 0
    assert (first.hold_p05_h, first.hold_p50_h) == (second.hold_p05_h, second.hold_p50_h)


def test_rows_are_what_the_journey_model_says(tmp_path):
    trial = read(tmp_path, WARM, REFERENCE)
    row = what_ifs(REFERENCE, trial, DRAWS, 5)[0]
    parameters = transit_parameters(REFERENCE)
    draws = draw(parameters, Lateness(0, 0, 0), DRAWS, 5)
    boxes = packed(REFERENCE, trial.written).boxes
    alone = forecast(boxes, surroundings_of(trial, beyond_h=48), parameters, draws, 72.0)
    # Other bags in the same call add their own corners to the grid of steps: within 0.5 %.
    assert row.hold_p05_h == pytest.approx(alone.hold_percentiles_h(0)[0], rel=0.005)


def test_departures_are_offered_where_the_air_is_known_and_differs(tmp_path):
    even = read(tmp_path, WARM, REFERENCE)
    assert not {"earlier", "later", "noon"} & {one.code for one in changes(REFERENCE, even)}
    swinging = WARM.replace("hours = [0, 24]", "starts = 2027-01-04T17:00:00-06:00\nhours = [0, 12, 24]")
    swinging = swinging.replace("[24, 24]", "[20, 28, 20]")
    found = {one.code: one for one in changes(REFERENCE, read(tmp_path, swinging, REFERENCE))}
    assert found["noon"].leaves_h == -5
    assert found["noon"].words == "leave at noon (5 h earlier)"
    assert (found["earlier"].leaves_h, found["later"].leaves_h) == (-6, 6)


def test_leaving_later_meets_the_air_of_those_hours_and_says_where_it_repeats(tmp_path):
    text = WARM.replace("hours = [0, 24]", "hours = [0, 12, 24]").replace("[24, 24]", "[20, 28, 20]")
    trial = read(tmp_path, text, REFERENCE)
    later = surroundings_of(trial, leaves_h=6.0)
    assert np.interp([0.0, 6, 18], later.hours, later.temperature_c) == pytest.approx([24, 28, 20])
    rows = {row.change: row for row in what_ifs(REFERENCE, trial, DRAWS, 1)}
    assert rows["later"].note == "past the end of the record its nearest day repeats"
    assert rows[AS_WRITTEN].note == ""


def test_boxes_wait_unmoved_at_the_mean_air_of_the_journey(tmp_path):
    text = COLD.replace("[6, 6]", "[0, 10]")
    around = waiting(surroundings_of(read(tmp_path, text, REFERENCE)), 24.0, 24.0)
    assert around.hours[-1] == 48
    assert np.all(np.diff(around.hours) > 0)
    assert np.interp(24, around.hours, around.temperature_c) == pytest.approx(5.0)
    assert np.interp(24, around.hours, around.motion) == 0
    assert np.interp([6, 42], around.hours, around.motion) == pytest.approx([1, 1])


def test_plain_goods_have_no_what_ifs(tmp_path):
    text = WARM[: WARM.index("[[box.bag]]")] + "[[box.mass]]\nkg = 5\n"
    assert what_ifs(REFERENCE, read(tmp_path, text, REFERENCE), DRAWS, 1) == ()


def test_many_bags_keep_their_own_rows(tmp_path):
    second = WARM[WARM.index("[[box.bag]]") :].replace('"A"', '"B"').replace("= 60", "= 20")
    trial = read(tmp_path, WARM + second, REFERENCE)
    rows = what_ifs(REFERENCE, trial, DRAWS, 1)
    for change in {row.change for row in rows}:
        small, large = ({row.bag: row.hold_p05_h for row in rows if row.change == change}[b] for b in "BA")
        assert small >= large

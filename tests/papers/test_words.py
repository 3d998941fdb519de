"""How numbers, times and names are written."""

import doctest
from datetime import UTC, datetime

import pytest
from sample_plan import sample_plan

from ramet.papers import words


def test_the_examples_in_the_docstrings_hold():
    result = doctest.testmod(words)
    assert result.attempted >= 10
    assert result.failed == 0


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(-0.0, 1, "0.0"), (-0.049, 1, "0.0"), (0.05, 2, "0.05"), (-12.34, 1, "−12.3"), (1234.5, 0, "1234")],
)
def test_a_number_never_shows_a_negative_nothing(value, digits, text):
    assert words.number(value, digits) == text


def test_times_follow_the_change_of_clocks():
    """US daylight saving time 2027 begins on 14 March, 2:00 local time (15 USC 260a)."""
    assert words.zoned(datetime(2027, 3, 14, 7, 59, tzinfo=UTC), "America/Chicago") == "Sun 14 Mar 01:59 CST"
    assert words.zoned(datetime(2027, 3, 14, 8, 0, tzinfo=UTC), "America/Chicago") == "Sun 14 Mar 03:00 CDT"
    assert words.zoned(datetime(2027, 3, 14, 8, 0, tzinfo=UTC), "America/Phoenix") == "Sun 14 Mar 01:00 MST"


def test_a_hold_beyond_the_forecast_is_only_known_to_be_longer():
    from ramet.formats.plan import Percentiles

    hold = Percentiles(p05=96.0, p50=96.0, p95=96.0, censored_share=1.0)
    assert words.held_band(hold, 96.0) == "> 96 · > 96 · > 96 h"
    assert words.margin(70.0, hold, 96.0) == "> +70.0 h"


def test_a_late_margin_is_a_lower_bound_only_where_the_late_hold_outlasts_the_forecast() -> None:
    bag = sample_plan().forecast.bags[0]
    short = bag.model_copy(update={"hold_late_p05_h": 20.0, "margin_late_h": -16.6})
    assert words.late_margin(short, 96.0) == "−16.6 h"
    assert words.late_margin(short.model_copy(update={"hold_late_p05_h": 96.0}), 96.0).startswith("> ")

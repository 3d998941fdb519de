"""A logger's record beside the forecast of its box."""

from datetime import timedelta
from pathlib import Path

import pytest
from sample_plan import HOURS, sample_plan

from ramet.domain.errors import BadInput
from ramet.formats.readings import Readings
from ramet.services.sending.logger_record import MOST_ROWS, compare, keep_logger, read_loggers

PLAN = sample_plan()
MIDDLE = PLAN.forecast.boxes[0].temperature.p50


def readings(shift_c: float, first_h: float = 0.0, step_h: float = 2.0, count: int = 10) -> Readings:
    hours = tuple(step_h * n for n in range(count))
    values = tuple(24.0 - 0.09 * (first_h + hour) + shift_c for hour in hours)
    return Readings(hours, values, PLAN.shipment.departs + timedelta(hours=first_h))


def test_a_record_on_the_middle_differs_by_nothing_and_lies_inside() -> None:
    found = compare(PLAN, "box-1", readings(0.0))
    assert found is not None
    assert found.mean_difference_c == pytest.approx(0.0, abs=1e-9)
    assert found.inside_share == 1.0


def test_a_shifted_record_differs_by_its_shift_and_leaves_the_band() -> None:
    """The sample's band is 1.1 °C to either side of its middle."""
    found = compare(PLAN, "box-1", readings(1.2))
    assert found is not None
    assert found.mean_difference_c == pytest.approx(1.2)
    assert found.inside_share == 0.0


def test_between_two_hours_of_the_forecast_its_line_is_taken() -> None:
    found = compare(PLAN, "box-1", readings(0.0, step_h=0.7))
    assert found is not None
    assert found.rows[1].p50_c == pytest.approx(MIDDLE[0] + 0.35 * (MIDDLE[1] - MIDDLE[0]))


def test_only_hours_of_the_journey_count() -> None:
    found = compare(PLAN, "box-1", readings(0.0, first_h=-4.0))
    assert found is not None
    assert (found.readings, found.from_h) == (8, 0.0)
    assert compare(PLAN, "box-1", readings(0.0, first_h=HOURS[-1] + 10)) is None


def test_a_long_record_is_shown_in_a_table_of_bearable_length() -> None:
    found = compare(PLAN, "box-1", readings(0.0, step_h=0.1, count=900))
    assert found is not None
    assert found.readings == 900
    assert len(found.rows) <= MOST_ROWS


def test_a_record_is_kept_and_read_again(tmp_path: Path) -> None:
    table = tmp_path / "my logger.csv"
    table.write_text("hours,temperature_c\n0,23.5\n2,23.0\n4,22.8\n")
    kept = keep_logger(tmp_path, PLAN, "box-2", table)
    assert read_loggers(tmp_path, PLAN) == (kept,)


@pytest.mark.parametrize(
    ("box", "text", "told"),
    [
        ("box-9", "hours,temperature_c\n0,20\n1,20\n", "a box of this plan: box-1, box-2"),
        ("box-1", "hours,degrees\n0,20\n1,20\n", "the unit in the header"),
    ],
)
def test_what_cannot_be_held_against_the_forecast_is_told(
    tmp_path: Path, box: str, text: str, told: str
) -> None:
    table = tmp_path / "logger.csv"
    table.write_text(text)
    with pytest.raises(BadInput, match=told):
        keep_logger(tmp_path, PLAN, box, table)
    assert not (tmp_path / "loggers").exists()

"""What counts as a gap in a record of temperatures."""

import pytest

from ramet.formats.ambient import Ambient
from ramet.formats.record_gaps import gaps


@pytest.mark.parametrize(
    ("hours", "after"),
    [
        ([0, 1, 2, 12, 13], [3]),
        ([0, 12, 24, 36], []),  # a coarse record is not full of gaps
        ([0, 48], []),  # two points are a line
        ([0, 3, 6, 11], []),  # not longer than six hours
        ([0, 3, 14], [2]),
        ([0, 1, 30, 31, 60], [2, 4]),
    ],
)
def test_a_gap_is_a_step_far_longer_than_the_others(hours: list[float], after: list[int]) -> None:
    assert gaps(hours, 6.0) == after


@pytest.mark.parametrize(
    ("hours", "temperature_c"),
    [
        ([0, 96], [24, 24]),
        ([0, 72], [25, 5]),
        ([0, 0.01, 72], [25, 10, 10]),
        ([0, 2, 2.5, 10, 14, 20, 26, 96], [20, 18, 12, 10, 12, 15, 20, 20]),
    ],
)
def test_a_typed_record_may_describe_days_by_few_points(
    hours: list[float], temperature_c: list[float]
) -> None:
    typed = Ambient.model_validate({"hours": hours, "temperature_c": temperature_c})
    assert typed.hours == tuple(hours)

"""Tables of air temperatures and saved forecasts: what is read, and what each fault is told."""

import itertools
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.formats.hourly_forecast import parse_forecast, read_forecast
from ramet.formats.readings import Readings, read_readings

HOURS = "hours,temperature_c\n0,10\n3,8.5\n6,-4\n"
CLOCK = "time;temperature [°F]\n2027-01-04T17:00:00-06:00;32\n2027-01-04T23:00:00Z;50\n2027-01-05T01:00Z;14\n"


def written(folder: Path, text: str, name: str = "weather.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def told(found: Readings | tuple) -> str:
    assert isinstance(found, tuple)
    return "\n".join(str(problem) for problem in found)


def test_bare_hours_have_no_clock(tmp_path):
    found = read_readings(written(tmp_path, HOURS))
    assert found == Readings((0, 3, 6), (10, 8.5, -4), None)


def test_times_with_offsets_count_from_the_first_whatever_their_zones(tmp_path):
    # 17:00 at -06:00 is 23:00Z, so the second line is not later: told; moved by a minute, it is 1/60 h.
    assert "after that of the line before" in told(read_readings(written(tmp_path, CLOCK)))
    found = read_readings(written(tmp_path, CLOCK.replace("23:00:00Z", "23:01:00Z")))
    assert isinstance(found, Readings)
    assert found.hours == pytest.approx((0, 1 / 60, 2))
    assert found.temperature_c == pytest.approx((0, 10, -10))  # 32, 50, 14 °F by definition
    assert found.first == datetime(2027, 1, 4, 23, tzinfo=UTC)


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("hours,temperature_c", 1.0),
        ("Hour, temperature (°C)", 1.0),
        ("hour\ttemp c", 1.0),
        ("time_h,temperature_2m (celsius)", 1.0),
    ],
)
def test_a_unit_is_found_in_whatever_way_the_header_writes_it(tmp_path, header, unit):
    mark = "\t" if "\t" in header else ","
    found = read_readings(written(tmp_path, f"{header}\n0{mark}5\n1{mark}6\n"))
    assert found == Readings((0, 1), (5 * unit, 6 * unit), None)


BAD = [
    (HOURS.replace("temperature_c", "temperature"), ":1", "the unit in the header"),
    (HOURS.replace("hours,", "depth,"), ":1", "two columns"),
    ("hours,temperature_c,humidity\n0,1,2\n1,2,3\n", ":1", "two columns"),
    (HOURS.replace("6,-4", "14,-4"), ":4", "no gap longer than 6 h"),
    (HOURS.replace("6,-4", "2,-4"), ":4", "a time after that of the line before, 3"),
    (HOURS.replace("6,-4", "3,-4"), ":4", "a time after that of the line before"),
    (HOURS.replace("8.5", "nan"), ":3", "found “nan”"),
    (HOURS.replace("8.5", "inf"), ":3", "found “inf”"),
    (HOURS.replace("8.5", ""), ":3", "nothing there"),
    (HOURS.replace("8.5", "85"), ":3", "-60 to 70 °C"),
    (HOURS.replace("3,8.5", "-3,8.5"), ":3", "a number of hours"),
    (HOURS.replace("3,8.5", "2027-01-04T17:00Z,8.5"), ":3", "the same kind in every line"),
    (HOURS.replace("3,8.5", "3,8.5,9"), ":3", "two cells"),
    (CLOCK.replace("23:00:00Z", "23:00:00"), ":3", "a time with its offset"),
    ("hours,temperature_c\n0,10\n", ":1", "at least 2 readings"),
    ("", ":1", "a row of column headers"),
]


@pytest.mark.parametrize(("text", "line", "expected"), BAD)
def test_a_bad_table_is_told_line_and_expectation(tmp_path, text, line, expected):
    words = told(read_readings(written(tmp_path, text)))
    assert f"weather.csv{line}" in words
    assert expected in words


def test_every_fault_of_a_table_is_told_at_once_in_order(tmp_path):
    words = told(read_readings(written(tmp_path, "hours,temperature_c\n0,x\n9,1\n8,2\n9,nan\n"))).splitlines()
    assert [line.split(":")[1].split(" ")[0] for line in words] == ["2", "3", "4", "5"]


def test_a_missing_table_is_told(tmp_path):
    assert "exists" in told(read_readings(tmp_path / "none.csv"))


@given(
    steps=st.lists(st.floats(0.01, 6), min_size=1, max_size=30),
    start=st.floats(0, 100),
    values=st.data(),
)
def test_a_rising_record_is_read_back_as_written(tmp_path_factory, steps, start, values):
    hours = [start]
    for step in steps:
        hours.append(hours[-1] + step)
    warm = [values.draw(st.floats(-60, 70)) for _ in hours]
    rows = "".join(f"{hour:.6f},{value:.6f}\n" for hour, value in zip(hours, warm, strict=True))
    path = written(tmp_path_factory.mktemp("readings"), "hours,temperature_c\n" + rows)
    found = read_readings(path)
    if isinstance(found, tuple):  # six decimals may stretch a gap of exactly 6 h
        assert any(after - before > 6 - 1e-5 for before, after in itertools.pairwise(hours))
        return
    assert found.hours == pytest.approx([hour - hours[0] for hour in hours], abs=2e-6)
    assert found.temperature_c == pytest.approx(warm, abs=1e-6)


def forecast(**changed: object) -> dict:
    """A reply in the shape of the public documentation of the API; the numbers are invented."""
    start = datetime(2027, 1, 4)
    hours = [(start + timedelta(hours=h)).isoformat(timespec="minutes") for h in range(5)]
    reply: dict = {
        "latitude": 46.79,
        "longitude": -92.1,
        "generationtime_ms": 0.05,
        "utc_offset_seconds": -21600,
        "timezone": "America/Chicago",
        "timezone_abbreviation": "CST",
        "elevation": 214.0,
        "hourly_units": {"time": "iso8601", "temperature_2m": "°C"},
        "hourly": {"time": hours, "temperature_2m": [-10.5, -11, -11.5, -12, -12.5]},
    }
    return reply | changed


def test_a_saved_forecast_is_read_with_its_offset_and_extra_keys_ignored(tmp_path):
    path = written(tmp_path, json.dumps(forecast()), "forecast.json")
    found = read_forecast(path)
    assert isinstance(found, Readings)
    assert found.hours == (0, 1, 2, 3, 4)
    assert found.temperature_c == (-10.5, -11, -11.5, -12, -12.5)
    assert found.first == datetime(2027, 1, 4, 6, tzinfo=UTC)


def test_fahrenheit_is_converted():
    reply = forecast(hourly_units={"temperature_2m": "°F"})
    reply["hourly"]["temperature_2m"] = [14, 32, 50, 68, 86]
    assert parse_forecast(json.dumps(reply)).temperature_c == pytest.approx((-10, 0, 10, 20, 30))


def hourly(**changed: object) -> dict:
    return forecast(hourly=forecast()["hourly"] | changed)


BAD_FORECASTS = [
    (hourly(temperature_2m=[1, None, 2, 3, 4]), "hourly.temperature_2m[2]", "null"),
    (hourly(temperature_2m=[1, 2, 3]), "hourly.temperature_2m", "as many temperatures as times (5)"),
    (hourly(time=["2027-01-04T00:00"] * 5), "hourly.time[2]", "a time after the one before it"),
    (
        hourly(time=[f"2027-01-04T{h:02d}:00" for h in (0, 1, 2, 3, 12)]),
        "hourly.time[5]",
        "no gap longer than 6 h",
    ),
    (hourly(time=["2027-01-04T00:00", "later", *["2027-01-05T00:00"] * 3]), "hourly.time[2]", "later"),
    (forecast(hourly_units={"temperature_2m": "mm"}), "hourly_units.temperature_2m", "°C, °F or K"),
    (forecast(hourly={}), "hourly.time", "nothing there"),
]


@pytest.mark.parametrize(("reply", "place", "expected"), BAD_FORECASTS)
def test_a_bad_forecast_is_told_its_place(tmp_path, reply, place, expected):
    words = told(read_forecast(written(tmp_path, json.dumps(reply, indent=1), "forecast.json")))
    assert f"[{place}]" in words
    assert expected in words
    with pytest.raises(ValueError, match=r"hourly|reply"):
        parse_forecast(json.dumps(reply))

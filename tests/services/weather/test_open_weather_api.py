"""The client of the open weather API against a server on this machine.

The replies are written by hand from the public documentation of the API; nothing here was recorded from it,
and no test reaches the network.
"""

import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from click.testing import CliRunner

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.formats.ambient import Ambient
from ramet.main import cli
from ramet.reference.tables import load_reference
from ramet.services.weather import open_weather_api
from ramet.services.weather.open_weather_api import OpenWeatherApi, fetch
from ramet.services.weather.sources import NetworkAccess, air_of

REFERENCE = load_reference()
TRIAL = Path("trial.toml")
AMBIENT = Ambient(
    latitude=46.79, longitude=-92.1, starts=datetime.fromisoformat("2027-01-04T17:00:00-06:00"), lasts_h=26
)
Answer = Callable[[dict[str, list[str]]], tuple[int, bytes]]


class _Quiet(ThreadingHTTPServer):
    """A server that says nothing when a client has gone."""

    def handle_error(self, *_: object) -> None:
        pass


@contextmanager
def serving(answer: Answer) -> Iterator[tuple[str, list[dict[str, list[str]]]]]:
    """A server that answers every request by `answer`, and the queries that it got."""
    asked: list[dict[str, list[str]]] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            query = parse_qs(urlsplit(self.path).query)
            asked.append(query)
            status, body = answer(query)
            self.send_response(status)
            self.send_header("Content-Type", "application/json; charset=utf-8")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    server = _Quiet(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/v1/forecast", asked
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def forecast(query: dict[str, list[str]]) -> tuple[int, bytes]:
    """Every hour of the days asked for, in GMT, one degree colder each hour from 10 °C down to a floor."""
    first, last = (date.fromisoformat(query[key][0]) for key in ("start_date", "end_date"))
    count = 24 * ((last - first).days + 1)
    start = datetime(first.year, first.month, first.day)
    reply = {
        "latitude": float(query["latitude"][0]),
        "longitude": float(query["longitude"][0]),
        "generationtime_ms": 0.1,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 214.0,
        "hourly_units": {"time": "iso8601", "temperature_2m": "°C"},
        "hourly": {
            "time": [(start + timedelta(hours=h)).isoformat(timespec="minutes") for h in range(count)],
            "temperature_2m": [max(-20.0, 10.0 - h) for h in range(count)],
        },
    }
    return 200, json.dumps(reply).encode()


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch):
    """A machine behind a proxy still speaks to itself directly."""
    monkeypatch.setenv("no_proxy", "127.0.0.1")


def api(url: str, timeout_s: float = 5.0) -> OpenWeatherApi:
    return OpenWeatherApi(AMBIENT, TRIAL, url, timeout_s, 2.5, "open_weather_api")


def test_it_asks_for_the_days_around_the_journey_and_counts_from_departure():
    with serving(forecast) as (url, asked):
        air = api(url).air()
    assert asked[0]["hourly"] == ["temperature_2m"]
    assert asked[0]["latitude"] == ["46.79"]
    assert asked[0]["longitude"] == ["-92.1"]
    # 17:00 at -06:00 is 23:00 GMT on the 4th; the journey ends at 01:00 GMT on the 6th.
    assert (asked[0]["start_date"], asked[0]["end_date"]) == (["2027-01-03"], ["2027-01-07"])
    assert air.hours[0] == -47
    assert air.at(np.array([-47.0])) == pytest.approx([10.0])
    assert air.lasts_h == 26
    assert air.clock_h == 17
    assert air.uncertain_c == 2.5


def refused(_: object) -> tuple[int, bytes]:
    """A refusal in the documented shape."""
    return 400, json.dumps({"error": True, "reason": "Parameter 'start_date' is out of range"}).encode()


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        (refused, "refused with 400: Parameter 'start_date' is out of range"),
        (lambda _: (503, b"<html>busy</html>"), "refused with 503: Service Unavailable"),
        (lambda _: (200, b"<html>sign in</html>"), "not with an hourly forecast"),
        (lambda _: (200, b'{"hourly": {"time": [], "temperature_2m": []}}'), "not with an hourly forecast"),
        (lambda _: (200, b"\xff\xfe\xfd"), "something other than text"),
    ],
)
def test_a_bad_answer_is_told_in_words_with_a_way_out(answer, told):
    with serving(answer) as (url, _), pytest.raises(BrokenEnvironment) as error:
        api(url).air()
    assert told in str(error.value)
    assert "a place with its month instead" in str(error.value)
    assert "127.0.0.1" in str(error.value)


def test_a_silent_server_is_left_after_the_timeout():
    def slow(_: object) -> tuple[int, bytes]:
        time.sleep(1.0)
        return 200, b"{}"

    with serving(slow) as (url, _), pytest.raises(BrokenEnvironment, match=r"within 0\.2 s"):
        api(url, timeout_s=0.2).air()


def test_a_reply_without_end_is_cut(monkeypatch):
    monkeypatch.setattr(open_weather_api, "MOST_BYTES", 1000)
    with (
        serving(lambda _: (200, b" " * 5000)) as (url, _),
        pytest.raises(BrokenEnvironment, match="more than"),
    ):
        api(url).air()


def test_nobody_there_and_odd_addresses_are_told():
    with pytest.raises(BrokenEnvironment, match="cannot be reached"):
        fetch("http://127.0.0.1:9/v1/forecast", 2.0)
    with pytest.raises(BrokenEnvironment, match="https://"):
        fetch("file:///etc/hostname", 2.0)


def test_a_forecast_that_ends_too_early_is_bad_input():
    def short(query: dict[str, list[str]]) -> tuple[int, bytes]:
        return forecast(query | {"end_date": ["2027-01-05"]})

    with serving(short) as (url, _), pytest.raises(BadInput, match="a journey within"):
        api(url).air()


def test_without_leave_nothing_is_asked():
    with serving(forecast) as (url, asked):
        with pytest.raises(BadInput, match="--online"):
            air_of(AMBIENT, TRIAL, REFERENCE, NetworkAccess(False, url))
        assert asked == []


def test_the_command_asks_only_with_its_option(tmp_path):
    trial = tmp_path / "point.toml"
    trial.write_text(
        "[ambient]\nlatitude = 46.79\nlongitude = -92.1\nstarts = 2027-01-04T17:00:00-06:00\nlasts_h = 3\n"
        "[[box]]\ninner_mm = [300, 300, 300]\nwall_mm = 25\nwall_k_w_mk = 0.036\n[[box.mass]]\nkg = 5\n",
        encoding="utf-8",
    )
    with serving(forecast) as (url, asked):
        off = CliRunner().invoke(cli, ["transit", str(trial), "--weather-url", url])
        assert isinstance(off.exception, BadInput)
        assert asked == []
        on = CliRunner().invoke(cli, ["transit", str(trial), "--online", "--weather-url", url])
    assert on.exit_code == 0, on.output
    assert "hourly forecast of the open weather API for 46.79, -92.1" in on.output
    assert len(asked) == 1

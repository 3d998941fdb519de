"""An hourly forecast from the open weather API: free, without a key, asked over HTTP when the user allows it.

The shapes of requests and replies follow the public documentation of the API (see SOURCES.csv).
"""

import json
from dataclasses import dataclass
from datetime import UTC, timedelta
from http.client import HTTPException
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode, urlsplit
from urllib.request import Request, urlopen

from ramet import __version__
from ramet.domain.errors import BrokenEnvironment
from ramet.formats.ambient import Ambient
from ramet.formats.hourly_forecast import parse_forecast
from ramet.formats.readings import Readings
from ramet.services.weather.air import Air
from ramet.services.weather.weather_file import air_from

MOST_BYTES = 2_000_000
"""A reply of this size is no hourly forecast of one place."""
_INSTEAD = "give a file or a place with its month instead"


@dataclass(frozen=True, slots=True)
class OpenWeatherApi:
    """The forecast of one point on the map, from the day before departure to two days after the end."""

    ambient: Ambient
    trial: Path
    base_url: str
    timeout_s: float
    forecast_error_c: float
    source: str

    def air(self) -> Air:
        """Ask, and return the air around the departure."""
        readings = self._readings()
        uncertain = self.forecast_error_c if self.ambient.uncertain_c is None else self.ambient.uncertain_c
        where = f"{self.ambient.latitude:g}, {self.ambient.longitude:g}"
        words = f"hourly forecast of the open weather API for {where}"
        return air_from(readings, self.ambient, self.trial, uncertain, words, self.source)

    def _readings(self) -> Readings:
        body = fetch(self._url(), self.timeout_s)
        try:
            return parse_forecast(body)
        except ValueError as error:
            raise BrokenEnvironment(
                f"{_host(self.base_url)} answered, but not with an hourly forecast ({error}); {_INSTEAD}"
            ) from error

    def _url(self) -> str:
        ambient = self.ambient
        assert ambient.starts is not None
        assert ambient.lasts_h is not None
        leaves = ambient.starts.astimezone(UTC)
        ends = leaves + timedelta(hours=ambient.lasts_h)
        asked = {
            "latitude": f"{ambient.latitude:g}",
            "longitude": f"{ambient.longitude:g}",
            "hourly": "temperature_2m",
            "start_date": (leaves - timedelta(days=1)).date().isoformat(),
            "end_date": (ends + timedelta(days=1)).date().isoformat(),
        }
        return f"{self.base_url}?{urlencode(asked)}"


def fetch(url: str, timeout_s: float) -> str:
    """Return the body of a reply. Raises BrokenEnvironment with the reason in a user's words."""
    host = _host(url)
    if urlsplit(url).scheme not in {"http", "https"}:
        raise BrokenEnvironment(f"{host}: expected an address that begins with https:// or http://")
    request = Request(url, headers={"Accept": "application/json", "User-Agent": f"ramet/{__version__}"})
    try:
        with urlopen(request, timeout=timeout_s) as reply:
            body: bytes = reply.read(MOST_BYTES + 1)
    except HTTPError as error:
        raise BrokenEnvironment(f"{host} refused with {error.code}: {_reason(error)}; {_INSTEAD}") from error
    except TimeoutError as error:
        raise BrokenEnvironment(f"{host} did not answer within {timeout_s:g} s; {_INSTEAD}") from error
    except (URLError, OSError, HTTPException) as error:
        why = getattr(error, "reason", None) or error
        if isinstance(why, TimeoutError):
            why = f"no answer within {timeout_s:g} s"
        raise BrokenEnvironment(f"{host} cannot be reached ({why}); {_INSTEAD}") from error
    if len(body) > MOST_BYTES:
        raise BrokenEnvironment(f"{host} answered with more than {MOST_BYTES // 1_000_000} MB; {_INSTEAD}")
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise BrokenEnvironment(f"{host} answered with something other than text; {_INSTEAD}") from error


def _reason(error: HTTPError) -> str:
    """Return the words that the API puts into a refusal, else those of the protocol."""
    try:
        said = json.loads(error.read(10_000)).get("reason")
    except (ValueError, AttributeError, OSError):
        said = None
    return str(said or error.reason)


def _host(url: str) -> str:
    return f"the open weather API at {urlsplit(url).netloc or url}"

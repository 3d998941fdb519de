"""Chooses the source of weather that a trial names."""

from dataclasses import dataclass
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.ambient import Ambient
from ramet.reference.climate import web_service
from ramet.reference.tables import Reference
from ramet.services.weather.air import Air, WeatherSource
from ramet.services.weather.normals import MonthlyNormals
from ramet.services.weather.open_weather_api import OpenWeatherApi
from ramet.services.weather.typed import TypedRecord
from ramet.services.weather.weather_file import WeatherFile


@dataclass(frozen=True, slots=True)
class NetworkAccess:
    """Whether the network may be asked, and where, when not at the address of the table. Off by default."""

    allowed: bool = False
    base_url: str | None = None


OFFLINE = NetworkAccess()


def air_of(ambient: Ambient, trial: Path, reference: Reference, access: NetworkAccess = OFFLINE) -> Air:
    """Return the air that a trial's `[ambient]` asks for."""
    return weather_source(ambient, trial, reference, access).air()


def weather_source(
    ambient: Ambient, trial: Path, reference: Reference, access: NetworkAccess
) -> WeatherSource:
    """Return the source that `[ambient]` names. Raises BadInput where it needs a network it may not use."""
    error_c = reference.parameter("forecast_error_c").band.typical
    match ambient.source:
        case "record":
            return TypedRecord(ambient)
        case "file":
            return WeatherFile(ambient, trial, error_c)
        case "normals":
            return MonthlyNormals(ambient, trial, reference)
        case "point":
            if not access.allowed:
                raise BadInput([_needs_leave(trial, ambient)])
            service = web_service("hourly_forecast")
            timeout = reference.parameter("web_timeout_s").band.typical
            url = access.base_url or service.base_url
            return OpenWeatherApi(ambient, trial, url, timeout, error_c, service.source)


def _needs_leave(trial: Path, ambient: Ambient) -> Problem:
    expected = (
        "the option --online, by which this point and the date go to the open weather API; "
        "or a file, or a place with its month"
    )
    shown = f"{ambient.latitude:g}, {ambient.longitude:g}"
    return Problem(Place(str(trial), None, "ambient.latitude"), shown, expected)

"""Weather from a file: a table of times and temperatures, or a saved hourly forecast."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.ambient import Ambient
from ramet.formats.hourly_forecast import read_forecast
from ramet.formats.readings import Readings, read_readings
from ramet.services.weather.air import Air


@dataclass(frozen=True, slots=True)
class WeatherFile:
    """A file named by a trial, looked for beside the trial."""

    ambient: Ambient
    trial: Path
    forecast_error_c: float

    def air(self) -> Air:
        """Return the air of the file around the departure, which is its first time unless the trial says."""
        name = self.ambient.file or ""
        path = self.trial.parent / name
        is_forecast = path.suffix.lower() == ".json"
        read = read_forecast(path) if is_forecast else read_readings(path)
        if isinstance(read, tuple):
            raise BadInput(read)
        kind = "hourly forecast" if is_forecast else "record"
        error = self.forecast_error_c if is_forecast else 0.0
        uncertain = error if self.ambient.uncertain_c is None else self.ambient.uncertain_c
        return air_from(read, self.ambient, self.trial, uncertain, f"{kind} {name}", "")


def air_from(
    readings: Readings, ambient: Ambient, trial: Path, uncertain_c: float, words: str, source: str
) -> Air:
    """Return readings as hours from departure. Raises BadInput where they do not cover the journey."""
    starts = ambient.starts
    leaves = _leaves_h(readings, starts, trial)
    hours = np.array(readings.hours) - leaves
    lasts = float(hours[-1]) if ambient.lasts_h is None else ambient.lasts_h
    if lasts <= 0 or lasts > hours[-1] + 1e-9 or hours[0] > 1e-9:
        raise BadInput([_short(readings, ambient, trial, float(hours[-1]), lasts)])
    local = starts or readings.first
    return Air(
        hours=hours,
        temperature_c=np.array(readings.temperature_c),
        lasts_h=lasts,
        clock_h=None if local is None else local.hour + local.minute / 60,
        uncertain_c=uncertain_c,
        words=words,
        source=source,
    )


def _leaves_h(readings: Readings, starts: datetime | None, trial: Path) -> float:
    if starts is None:
        return 0.0
    if readings.first is None:
        expected = "no starts: the file counts bare hours and does not know the clock"
        raise BadInput([Problem(Place(str(trial), None, "ambient.starts"), starts.isoformat(), expected)])
    return (starts - readings.first).total_seconds() / 3600


def _short(readings: Readings, ambient: Ambient, trial: Path, left_h: float, lasts_h: float) -> Problem:
    covered = f"{readings.hours[-1]:g} h of readings"
    if readings.first is not None:
        covered += f" from {readings.first.isoformat(timespec='minutes')}"
    if left_h <= 0 or ambient.lasts_h is None:
        shown = None if ambient.starts is None else ambient.starts.isoformat(timespec="minutes")
        return Problem(Place(str(trial), None, "ambient.starts"), shown, f"a departure within {covered}")
    expected = f"a journey within {covered}, {left_h:.3g} h left"
    return Problem(Place(str(trial), None, "ambient.lasts_h"), f"{lasts_h:g}", expected)

"""An hourly forecast as the open weather API answers it: a JSON file, or the body of a reply."""

from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from ramet.domain.problems import Problem
from ramet.domain.quantities import UNITS, to_unit
from ramet.formats.fields import Misfit, Misfits
from ramet.formats.readings import COLDEST_C, LONGEST_GAP_H, WARMEST_C, Readings
from ramet.formats.toml_reader import read_json


class _Reply(BaseModel):
    """What others write may hold keys that are of no interest here."""

    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False)


class HourlyUnits(_Reply):
    """The unit of the temperatures."""

    temperature_2m: str = "°C"


class Hourly(_Reply):
    """Local times without offset, and air temperature 2 m above ground."""

    time: Annotated[tuple[str, ...], Field(min_length=2)]
    temperature_2m: Annotated[tuple[float | None, ...], Field(min_length=2)]


class HourlyForecast(_Reply):
    """The part of a reply that is read. Times are local to `utc_offset_seconds`."""

    utc_offset_seconds: Annotated[int, Field(ge=-50_400, le=50_400)] = 0
    hourly_units: HourlyUnits = HourlyUnits()
    hourly: Hourly

    @model_validator(mode="after")
    def _is_a_record(self) -> Self:
        found = list(self._misfits())
        if found:
            raise Misfits(found)
        return self

    def readings(self) -> Readings:
        """Return the temperatures in °C over hours from the first."""
        moments = [self._moment(text) for text in self.hourly.time]
        hours = tuple((moment - moments[0]).total_seconds() / 3600 for moment in moments)
        values = [self._celsius(value) for value in self.hourly.temperature_2m if value is not None]
        return Readings(hours, tuple(values), moments[0])

    def _moment(self, text: str) -> datetime:
        zone = timezone(timedelta(seconds=self.utc_offset_seconds))
        moment = datetime.fromisoformat(text)
        return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment

    def _celsius(self, value: float) -> float:
        return round(to_unit(f"{value:f} {self.hourly_units.temperature_2m}", "c"), 6)

    def _misfits(self) -> Iterator[Misfit]:
        times, temperatures = self.hourly.time, self.hourly.temperature_2m
        unit = self.hourly_units.temperature_2m
        if unit.lower() not in UNITS["c"]:
            yield Misfit(("hourly_units", "temperature_2m"), unit, "°C, °F or K")
            return
        if len(times) != len(temperatures):
            expected = f"as many temperatures as times ({len(times)})"
            yield Misfit(("hourly", "temperature_2m"), f"{len(temperatures)} numbers", expected)
        for place, value in enumerate(temperatures):
            if value is None or not COLDEST_C <= self._celsius(value) <= WARMEST_C:
                shown = "null" if value is None else f"{value:g}"
                expected = f"a temperature, {COLDEST_C:g} to {WARMEST_C:g} °C"
                yield Misfit(("hourly", "temperature_2m", place), shown, expected)
        yield from self._time_misfits(times)

    def _time_misfits(self, times: tuple[str, ...]) -> Iterator[Misfit]:
        before: datetime | None = None
        for place, text in enumerate(times):
            path = ("hourly", "time", place)
            try:
                moment = self._moment(text)
            except ValueError:
                yield Misfit(path, text, "a time such as 2027-01-04T17:00")
                continue
            if before is not None:
                gap = (moment - before).total_seconds() / 3600
                if gap <= 0:
                    yield Misfit(path, text, "a time after the one before it")
                elif gap > LONGEST_GAP_H:
                    yield Misfit(path, text, f"no gap longer than {LONGEST_GAP_H:g} h; here {gap:.3g} h")
            before = moment


def read_forecast(path: Path) -> Readings | tuple[Problem, ...]:
    """Read a saved forecast, or return every problem with its line."""
    read = read_json(path, HourlyForecast)
    return read if isinstance(read, tuple) else read.readings()


def parse_forecast(text: str) -> Readings:
    """Return what the body of a reply holds. Raises ValueError with what is wrong with it."""
    try:
        return HourlyForecast.model_validate_json(text, strict=True).readings()
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(key) for key in first["loc"]) or "the reply"
        raise ValueError(f"{where}: {first['msg']}") from error

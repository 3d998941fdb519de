"""Air temperatures over time from a table of two columns: times, and temperatures with their unit."""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from ramet.domain.problems import Place, Problem
from ramet.domain.quantities import UNITS, to_unit
from ramet.formats.record_gaps import gaps
from ramet.formats.table import Sheet, read_sheets

LONGEST_GAP_H = 6.0
"""A record with a longer gap than its usual step has lost a morning or an evening."""
COLDEST_C, WARMEST_C = -60.0, 70.0
_TIME = re.compile(r"time|date|hour|moment|^h$", re.IGNORECASE)
_UNIT_TOKEN = re.compile(r"[\s_()\[\],/]+")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_MOMENT = "a time with its offset, such as 2027-01-04T17:00:00-06:00, or a number of hours"


@dataclass(frozen=True, slots=True)
class Readings:
    """Air temperatures in order of time. `hours` count from the first; without a clock `first` is None."""

    hours: tuple[float, ...]
    temperature_c: tuple[float, ...]
    first: datetime | None


def read_readings(path: Path) -> Readings | tuple[Problem, ...]:
    """Read a table of air temperatures, or return every problem with its line."""
    sheets, problems = read_sheets(path)
    if problems:
        return tuple(problems)
    sheet = sheets[0]
    columns = _columns(sheet)
    if isinstance(columns, Problem):
        return (columns,)
    return _Reading(sheet, *columns).go()


def in_order(
    moments: list[tuple[Place, str, float]],
) -> Iterator[Problem]:
    """Yield what is wrong with the order of times: the place, the text and the hour of each."""
    holes = gaps([hour for _, _, hour in moments], LONGEST_GAP_H)
    for after, ((_, before_text, before), (place, text, hour)) in enumerate(pairwise(moments), start=1):
        if hour <= before:
            yield Problem(place, text, f"a time after that of the line before, {before_text}")
        elif after in holes:
            yield Problem(
                place,
                text,
                f"no gap longer than {LONGEST_GAP_H:g} h; here {hour - before:.3g} h after {before_text}",
            )


def _columns(sheet: Sheet) -> tuple[int, int, str] | Problem:
    """Find the column of times, the column of temperatures and its unit."""
    times = [i for i, header in enumerate(sheet.headers) if _TIME.search(header)]
    others = [i for i in range(len(sheet.headers)) if i not in times]
    units = [(i, unit) for i in others if (unit := _unit(sheet.headers[i]))]
    place = Place(sheet.file, sheet.header_line)
    shown = ", ".join(sheet.headers)
    if len(sheet.headers) != 2 or len(times) != 1:
        return Problem(place, shown, "two columns: time (or hours), and temperature with its unit")
    if not units:
        known = ", ".join(sorted(name for name in UNITS["c"] if name.isascii()))
        expected = f"the unit in the header of the temperatures, such as temperature_c, out of: {known}"
        return Problem(place, shown, expected)
    return times[0], units[0][0], units[0][1]


def _unit(header: str) -> str | None:
    tokens = [token.lower() for token in _UNIT_TOKEN.split(header.strip()) if token]
    names = {**{name: name for name in UNITS["c"]}, "celsius": "c", "fahrenheit": "f", "kelvin": "k"}
    return names.get(tokens[-1]) if len(tokens) > 1 else None


class _Reading:
    """One pass over the rows; problems are collected."""

    def __init__(self, sheet: Sheet, time_at: int, temperature_at: int, unit: str) -> None:
        self.sheet, self.time_at, self.temperature_at, self.unit = sheet, time_at, temperature_at, unit
        self.problems: list[Problem] = []
        self.moments: list[tuple[Place, str, float]] = []
        self.temperatures: list[float] = []
        self.first: datetime | None = None

    def go(self) -> Readings | tuple[Problem, ...]:
        """Read all rows."""
        for line, cells in self.sheet.rows:
            self._row(line, [cell.strip() for cell in cells])
        if not self.problems and len(self.moments) < 2:
            place = Place(self.sheet.file, self.sheet.header_line)
            self.problems.append(Problem(place, f"{len(self.moments)} readings", "at least 2 readings"))
        self.problems += in_order(self.moments)
        if self.problems:
            return tuple(sorted(self.problems, key=lambda one: one.place.line or 0))
        start = self.moments[0][2]
        hours = tuple(round(hour - start, 9) for _, _, hour in self.moments)
        return Readings(hours, tuple(self.temperatures), self.first)

    def _row(self, line: int, cells: list[str]) -> None:
        cells += [""] * (2 - len(cells))
        time_place = Place(self.sheet.file, line, self.sheet.headers[self.time_at])
        if any(cells[2:]):
            self.problems.append(Problem(Place(self.sheet.file, line), cells[2], "two cells"))
            return
        hour = self._hour(time_place, cells[self.time_at])
        temperature = self._temperature(line, cells[self.temperature_at])
        if hour is not None:
            self.moments.append((time_place, cells[self.time_at], hour))
        if temperature is not None:
            self.temperatures.append(temperature)

    def _hour(self, place: Place, text: str) -> float | None:
        """Return hours since the first time of the table; None, and a problem, when it can't be read."""
        bare = _NUMBER.fullmatch(text) is not None
        try:
            if bare and self.first is None:
                hour = float(text)
                if not math.isfinite(hour) or hour < 0:
                    raise ValueError(_MOMENT)
                return hour
            moment = datetime.fromisoformat(text)
            if bare or moment.tzinfo is None or (self.first is None and self.moments):
                raise ValueError(_MOMENT)
        except ValueError:
            expected = _MOMENT if not self.moments else _MOMENT + "; the same kind in every line"
            self.problems.append(Problem(place, text or None, expected))
            return None
        self.first = self.first or moment
        return (moment - self.first).total_seconds() / 3600

    def _temperature(self, line: int, text: str) -> float | None:
        try:
            if not _NUMBER.fullmatch(text):
                raise ValueError
            value = to_unit(f"{text} {self.unit}", "c")
            if not COLDEST_C <= value <= WARMEST_C:
                raise ValueError
        except ValueError:
            place = Place(self.sheet.file, line, self.sheet.headers[self.temperature_at])
            expected = f"a number of {self.unit.upper()}, {COLDEST_C:g} to {WARMEST_C:g} °C"
            self.problems.append(Problem(place, text or None, expected))
            return None
        return round(value, 9)

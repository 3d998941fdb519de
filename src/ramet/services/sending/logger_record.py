"""Temperatures that a logger in a box recorded, held against what was forecast for that box."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.plan import Bands, Plan
from ramet.formats.readings import Readings, read_readings
from ramet.services.beside import write_whole

FOLDER = "loggers"


MOST_ROWS = 48


@dataclass(frozen=True, slots=True)
class ComparedAt:
    """One reading beside the forecast's 5th, 50th and 95th percentile [°C], hours from departure."""

    hour: float
    measured_c: float
    p05_c: float
    p50_c: float
    p95_c: float

    @property
    def inside(self) -> bool:
        """Tell whether it lies within the band."""
        return self.p05_c <= self.measured_c <= self.p95_c


@dataclass(frozen=True, slots=True)
class Comparison:
    """A logger's record against the forecast of its box's air, over the hours that both cover.

    `inside_share` is the share of readings within the 5th to 95th percentile; `mean_difference_c` is
    measured less forecast median. `record` holds every reading by hours from departure, `rows` at most
    `MOST_ROWS` of the shared ones.
    """

    box: str
    readings: int
    from_h: float
    until_h: float
    coldest_c: float
    warmest_c: float
    inside_share: float
    mean_difference_c: float
    rows: tuple[ComparedAt, ...]
    record: tuple[tuple[float, float], ...]


def keep_logger(folder: Path, plan: Plan, box: str, path: Path) -> Comparison:
    """Read a logger's table, keep it beside the plan, and compare.

    Raises BadInput with every problem of the table, or when it covers none of the journey.
    """
    if box not in {one.id for one in plan.boxes}:
        expected = "a box of this plan: " + ", ".join(one.id for one in plan.boxes)
        raise BadInput([Problem(Place(path.name, column="box"), box, expected)])
    readings = read_readings(path)
    if isinstance(readings, tuple):
        raise BadInput(readings)
    found = compare(plan, box, readings)
    if found is None:
        hours = f"{plan.forecast.hours[0]:g} to {plan.forecast.hours[-1]:g} h from departure"
        expected = f"times on the journey ({hours}, {plan.shipment.departs.isoformat()})"
        raise BadInput([Problem(Place(path.name), "times before or after it", expected)])
    write_whole(folder / FOLDER / f"{box}.csv", path.read_bytes())
    return found


def read_loggers(folder: Path, plan: Plan) -> tuple[Comparison, ...]:
    """Return each kept record of a plan's boxes, held against its forecast."""
    return tuple(found for box in plan.boxes if (found := read_logger(folder, plan, box.id)) is not None)


def read_logger(folder: Path, plan: Plan, box: str) -> Comparison | None:
    """Return the kept record of one box, held against its forecast; None when there is none."""
    path = folder / FOLDER / f"{box}.csv"
    readings = read_readings(path) if box in {one.id for one in plan.boxes} and path.exists() else ()
    return None if isinstance(readings, tuple) else compare(plan, box, readings)


def forecast_of(plan: Plan, box: str) -> Bands:
    """Return the forecast of the air in a box."""
    return next(one.temperature for one in plan.forecast.boxes if one.id == box)


def compare(plan: Plan, box: str, readings: Readings) -> Comparison | None:
    """Hold a record against the forecast; None when they share no hour."""
    bands = forecast_of(plan, box)
    hours, record = plan.forecast.hours, _from_departure(plan, readings)
    shared = [
        ComparedAt(h, t, *(_at(hours, band, h) for band in (bands.p05, bands.p50, bands.p95)))
        for h, t in record
        if hours[0] <= h <= hours[-1]
    ]
    if not shared:
        return None
    measured = [one.measured_c for one in shared]
    return Comparison(
        box,
        len(shared),
        shared[0].hour,
        shared[-1].hour,
        min(measured),
        max(measured),
        sum(one.inside for one in shared) / len(shared),
        sum(one.measured_c - one.p50_c for one in shared) / len(shared),
        tuple(shared[:: -(-len(shared) // MOST_ROWS)]),
        tuple(record),
    )


def _from_departure(plan: Plan, readings: Readings) -> list[tuple[float, float]]:
    """The record by hours from departure; one without a clock is taken to begin there."""
    first = readings.first
    start = 0.0 if first is None else (first - plan.shipment.departs).total_seconds() / 3600
    return [(start + h, t) for h, t in zip(readings.hours, readings.temperature_c, strict=True)]


def _at(hours: Sequence[float], values: Sequence[float], hour: float) -> float:
    """A value between two hours of the forecast, on the straight line."""
    after = min(max(bisect_left(hours, hour), 1), len(hours) - 1)
    share = (hour - hours[after - 1]) / (hours[after] - hours[after - 1])
    return values[after - 1] + share * (values[after] - values[after - 1])

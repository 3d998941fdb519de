"""Until when does each bag hold, and what breaks first: heat, water, gas and limits over all scenarios."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ramet.science.bag import SERIES, BagStepper
from ramet.science.heat import Energy, events, outside_c, run_box
from ramet.science.journey_result import DAY_H, Holds, Journey, Percentiles, percentiles, ranked
from ramet.science.late import Party, delayed
from ramet.science.limits import Tally, kinds_of
from ramet.science.packed import PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import Scenarios, TransitParameters
from ramet.science.walk import Road, fresh, steps_of, walk

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

LONG_STEPS_AFTER_H = (36.0, 60.0)
"""From here every second, then every fourth, shown hour is walked; those between are drawn straight."""
_CELLS = 8192
"""Bags times scenarios carried at once: the working arrays stay in the processor's cache."""


def forecast(
    boxes: Sequence[PackedBox],
    around: Surroundings,
    parameters: TransitParameters,
    scenarios: Scenarios,
    horizon_h: float,
    step_h: float = 0.5,
    follow: Callable[[BagStepper], None] | None = None,
) -> Journey:
    """Forecast packed boxes.

    Parameters
    ----------
    boxes, around
        What travels, and through what; hour 0 is the departure.
    parameters, scenarios
        What is known and how it may differ.
    horizon_h
        End of the forecast, hours after departure.
    step_h
        Longest step, and spacing of the series; at most 0.5 h.
    follow
        Called with the stepper of each part at its end, when flows are to be balanced; its last columns
        are late journeys.
    """
    if not 0 < step_h <= 0.5:
        raise ValueError(f"step_h must be above 0 and at most 0.5, got {step_h}")
    if horizon_h <= 0:
        raise ValueError(f"horizon_h must be above 0, got {horizon_h}")
    bags = [bag for box in boxes for bag in box.bags]
    shown = _shown_hours(horizon_h, step_h)
    walked = walked_hours(shown)
    ways = [around, delayed(around, DAY_H), delayed(around, scenarios.lateness.some_h)]
    party = Party.of(ways, scenarios)
    run = _run(boxes, party, parameters, walked, step_h, follow)
    on_time, day_late, some_late = (run.holds.part(columns) for columns in party.columns)
    return Journey(
        hours=shown,
        ambient_c=percentiles(outside_c(around, shown, scenarios).astype(np.float32)),
        air_c=tuple(bands.at(walked, shown) for bands in run.air_c),
        series={name: bands.at(walked, shown) for name, bands in run.series.items()},
        holds=on_time,
        late=day_late,
        somewhat_late=some_late,
        ids=tuple(bag.id for bag in bags),
        sealed_before_h=np.array([bag.sealed_before_h for bag in bags]),
        scenarios=scenarios,
        energy=run.energy,
    )


def forecast_at(
    bags: Sequence[PackedBag],
    hours: Array,
    temperature_c: Array,
    parameters: TransitParameters,
    scenarios: Scenarios,
    motion: Array | float = 1.0,
    pressure_atm: Array | float = 1.0,
    step_h: float = 0.5,
) -> Array:
    """Return hold times of many bags at a given temperature; axes bag, scenario [h from sealing].

    Parameters
    ----------
    hours
        Grid from departure to the horizon.
    temperature_c
        Temperature of the bags on that grid, one column for all scenarios or one for each.
    motion, pressure_atm
        On the same grid or a single number.
    """
    return np.vstack(
        [
            part.hold_h
            for part in _parts_at(
                bags, hours, temperature_c, parameters, scenarios, motion, pressure_atm, step_h
            )
        ]
    )


def breaks_at(
    bag: PackedBag,
    needed_h: float,
    hours: Array,
    temperature_c: Array,
    parameters: TransitParameters,
    scenarios: Scenarios,
    motion: Array | float = 1.0,
    pressure_atm: Array | float = 1.0,
    step_h: float = 0.5,
) -> str:
    """Return the limit that most often ends a bag's hold before `needed_h` [h]; other arguments as above."""
    (holds,) = _parts_at([bag], hours, temperature_c, parameters, scenarios, motion, pressure_atm, step_h)
    return holds.limit_short_of(0, needed_h)


def _parts_at(
    bags: Sequence[PackedBag],
    hours: Array,
    temperature_c: Array,
    parameters: TransitParameters,
    scenarios: Scenarios,
    motion: Array | float,
    pressure_atm: Array | float,
    step_h: float,
) -> Iterator[Holds]:
    table = temperature_c if temperature_c.ndim == 2 else temperature_c[:, None]
    grid = steps_of(bags, float(hours[-1]), step_h, hours[(hours > 0)])
    warm = _at_hours(grid, hours, table)[:, None, :]
    road = Road(
        grid,
        np.interp(grid, hours, np.broadcast_to(motion, hours.shape))[:, None],
        np.interp(grid, hours, np.broadcast_to(pressure_atm, hours.shape))[:, None],
    )
    width = max(1, _CELLS // scenarios.count)
    for first in range(0, len(bags), width):
        some = bags[first : first + width]
        stepper, tally = fresh(some, parameters, scenarios, warm[0])
        for _ in walk(stepper, tally, some, road, warm, 0):
            pass
        yield _holds(tally, some, float(hours[-1]))


@dataclass(frozen=True, slots=True)
class _Run:
    series: dict[str, Percentiles]
    air_c: tuple[Percentiles, ...]
    holds: Holds
    energy: tuple[Energy, ...]


def _run(
    boxes: Sequence[PackedBox],
    party: Party,
    parameters: TransitParameters,
    shown: Array,
    step_h: float,
    follow: Callable[[BagStepper], None] | None,
) -> _Run:
    bags = [bag for box in boxes for bag in box.bags]
    grid = steps_of(bags, float(shown[-1]), step_h, shown)
    for way in party.ways:
        grid = events(grid, way, boxes)
    road, moving = party.road(grid), grid[grid >= -1e-9]
    still, at = grid.size - moving.size, np.searchsorted(grid, shown - 1e-7)
    warm, air, energy = _heat(boxes, party, parameters, moving, at - still)
    series = np.empty((3, len(SERIES), len(bags), shown.size))
    if not bags:
        return _Run(_named(series), air, _joined(()), energy)
    place = {int(i): k for k, i in enumerate(at)}
    kinds, holds = kinds_of(bags), []
    for rows in _rows(len(bags), party.scenarios.count):
        some, here = bags[rows], warm[:, rows]
        stepper, tally = fresh(some, parameters, party.in_time, here[0], follow is not None, kinds)
        for i in walk(stepper, tally, some, road, here, still):
            if i in place:
                _store(series, stepper, rows, place[i], party.columns[0])
        if follow is not None:
            follow(stepper)
        holds.append(_holds(tally, some, float(shown[-1])))
    return _Run(_named(series), air, _joined(holds), energy)


def _heat(
    boxes: Sequence[PackedBox], party: Party, parameters: TransitParameters, hours: Array, shown: Indices
) -> tuple[Array, tuple[Percentiles, ...], tuple[Energy, ...]]:
    """Return the temperature of all bags, and air and energy of each box on the journey in time."""
    outside, first = party.outside_c(hours), party.columns[0]
    warm = np.empty((hours.size, sum(len(box.bags) for box in boxes), party.scenarios.count))
    air, energy, row = [], [], 0
    for box in boxes:
        heat = run_box(box, hours, outside, parameters, party.scenarios)
        warm[:, row : row + len(box.bags)] = heat.bag_c
        row += len(box.bags)
        air.append(percentiles(heat.air_c[shown, first].astype(np.float32)))
        energy.append(heat.energy.part(first))
    return warm, tuple(air), tuple(energy)


def _named(series: Array) -> dict[str, Percentiles]:
    """Return the series by name; axes percentile, name, bag, time."""
    return {name: Percentiles(*series[:, i]) for i, name in enumerate(SERIES)}


def _rows(bags: int, count: int) -> list[slice]:
    """Return parts of the bags, of one size, that are carried at once."""
    parts = min(bags, -(-bags * count // _CELLS))
    edges = [bags * part // parts for part in range(parts + 1)]
    return [slice(low, high) for low, high in pairwise(edges)]


def _store(series: Array, stepper: BagStepper, rows: slice, place: int, columns: slice) -> None:
    """Keep the percentiles of one moment; pH is ranked by - [H+]."""
    values = stepper.shown(columns)
    found = np.stack(ranked(values))
    hydrogen = SERIES.index("ph_total")
    found[:, hydrogen] = 6.0 - np.log10(-found[:, hydrogen])
    series[:, :, rows, place] = found


def _holds(tally: Tally, bags: Sequence[PackedBag], horizon_h: float) -> Holds:
    hold, first = tally.hold_h()
    end = np.array([horizon_h + bag.sealed_before_h for bag in bags])[:, None]
    censored = hold > end
    return Holds(np.minimum(hold, end), censored, first, tally.codes, tally.hits_h())


def _joined(parts: Sequence[Holds]) -> Holds:
    if not parts:
        empty = np.empty((0, 0))
        return Holds(empty, empty > 0, empty.astype(np.int64), (), {})
    return Holds(
        np.vstack([p.hold_h for p in parts]),
        np.vstack([p.censored for p in parts]),
        np.vstack([p.first for p in parts]),
        parts[0].codes,
        {code: np.vstack([p.hits_h[code] for p in parts]) for code in parts[0].codes},
    )


def _shown_hours(horizon_h: float, step_h: float) -> Array:
    whole = np.arange(0.0, horizon_h + 1e-9, step_h)
    return whole if horizon_h - whole[-1] < 1e-6 else np.append(whole, horizon_h)


def walked_hours(shown: Array) -> Array:
    """Return the shown hours that are walked: all, then every second, then every fourth, and the last."""
    second, fourth = LONG_STEPS_AFTER_H
    number = np.arange(shown.size) - np.searchsorted(shown, second + 1e-9) + 1
    later = np.arange(shown.size) - np.searchsorted(shown, fourth + 1e-9) + 1
    keep = (number <= 0) | (number % 2 == 0)
    keep[later > 0] = later[later > 0] % 4 == 0
    keep[-1] = True
    return np.asarray(shown[keep])


def _at_hours(grid: Array, hours: Array, table: Array) -> Array:
    return np.stack([np.interp(grid, hours, column) for column in table.T], axis=1)

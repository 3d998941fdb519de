"""Until when does each bag hold, and what breaks first: heat, water, gas and limits over all scenarios."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ramet.science.bag import SERIES, BagStepper
from ramet.science.heat import Energy, events, outside_c, run_box
from ramet.science.limits import Tally, kinds_of
from ramet.science.packed import PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import DRAWN, Scenarios, TransitParameters
from ramet.science.walk import Road, fresh, steps_of, walk

Array = NDArray[np.float64]
Small = NDArray[np.float32]
Indices = NDArray[np.int64]

NONE_BROKEN = ""
"""First limit of a bag that holds to the horizon."""
DAY_H = 24.0
LONG_STEPS_AFTER_H = 48.0
"""From here on every second of the shown hours is walked and those between are drawn straight."""
_CELLS = 8192
"""Bags times scenarios carried at once: the working arrays stay in the processor's cache."""
_LATE_SHARE = 8
_FEWEST_LATE = 32
"""Late journeys take this part of the scenarios, at least so many."""


@dataclass(frozen=True, slots=True)
class Percentiles:
    """5th, 50th and 95th percentile over scenarios."""

    p05: Array
    p50: Array
    p95: Array

    def at(self, known_h: Array, hours: Array) -> "Percentiles":
        """Return the percentiles at hours that lie on or between the known ones; time is the last axis."""
        if known_h.size == hours.size:
            return self
        after = np.clip(np.searchsorted(known_h, hours), 1, known_h.size - 1)
        share = (hours - known_h[after - 1]) / (known_h[after] - known_h[after - 1])
        parts = (self.p05, self.p50, self.p95)
        return Percentiles(*((1.0 - share) * x[..., after - 1] + share * x[..., after] for x in parts))


@dataclass(frozen=True, slots=True)
class Holds:
    """Hours from sealing to the first broken limit; axes bag, scenario. Cut off where the forecast ends."""

    hold_h: Array
    censored: NDArray[np.bool_]
    first: NDArray[np.int64]
    codes: tuple[str, ...]
    hits_h: dict[str, Array]

    def first_limit(self, bag: int) -> str:
        """Return the limit that most often breaks first in a bag."""
        found = self.first[bag][~self.censored[bag]]
        return self.codes[int(np.bincount(found).argmax())] if found.size else NONE_BROKEN

    def part(self, columns: slice) -> "Holds":
        """Return the holds of some scenarios."""
        return Holds(
            self.hold_h[:, columns],
            self.censored[:, columns],
            self.first[:, columns],
            self.codes,
            {code: hits[:, columns] for code, hits in self.hits_h.items()},
        )

    def chance(self, bag: int, hours: float) -> float:
        """Return the share of scenarios in which a bag holds for these hours from sealing."""
        return float(np.mean(self.hold_h[bag] >= hours))


@dataclass(frozen=True, slots=True)
class Journey:
    """A forecast. `hours` count from departure, holds from the sealing of each bag.

    `series[name]` has the axes bag, time. `late` and `somewhat_late` are the holds when the boxes are a day,
    or the hours of `Lateness.some_h`, late; they rest on the first `late_count` scenarios.
    """

    hours: Array
    ambient_c: Percentiles
    air_c: tuple[Percentiles, ...]
    series: dict[str, Percentiles]
    holds: Holds
    late: Holds
    somewhat_late: Holds
    ids: tuple[str, ...]
    sealed_before_h: Array
    scenarios: Scenarios
    energy: tuple[Energy, ...]

    def hold_percentiles_h(self, bag: int) -> tuple[float, float, float, float]:
        """Return p05, p50, p95 of the hold time and the share that outlasts the horizon."""
        p05, p50, p95 = np.percentile(self.holds.hold_h[bag], [5, 50, 95], method="inverted_cdf")
        return float(p05), float(p50), float(p95), float(self.holds.censored[bag].mean())

    def late_p05_h(self, bag: int) -> float:
        """Return the 5th percentile of the hold time when the boxes are a day late."""
        return float(np.percentile(self.late.hold_h[bag], 5, method="inverted_cdf"))

    def chance_ok(self, bag: int, needed_h: float) -> float:
        """Return the chance that all limits hold until the box is opened, with the carrier's delays."""
        late = self.scenarios.lateness
        on_time = 1.0 - late.some_chance - late.day_chance
        return (
            on_time * self.holds.chance(bag, needed_h)
            + late.some_chance * self.somewhat_late.chance(bag, needed_h + late.some_h)
            + late.day_chance * self.late.chance(bag, needed_h + DAY_H)
        )

    def chance_ok_day_late(self, bag: int, needed_h: float) -> float:
        """Return the chance that all limits hold until the box is opened a day late."""
        return self.late.chance(bag, needed_h + DAY_H)

    def opened_ammonia_umol_l(self, bag: int, needed_h: float) -> float:
        """Return un-ionised ammonia after opening at the planned hour and aeration, 50th percentile."""
        at = needed_h - float(self.sealed_before_h[bag])
        return float(np.interp(at, self.hours, self.series["opened_ammonia_umol_l"].p50[bag]))

    def hangs_on(self, bag: int) -> str:
        """Return the uncertain parameter with which the hold time goes most closely (rank correlation)."""
        return max(self.sensitivity(bag).items(), key=lambda pair: abs(pair[1]))[0]

    def sensitivity(self, bag: int) -> dict[str, float]:
        """Return the rank correlation of the hold time with every uncertain parameter.

        Where no limit is broken in any scenario the lowest oxygen takes the place of the hold time.
        """
        hold = self.holds.hold_h[bag]
        if self.scenarios.count < 3 or np.ptp(hold) == 0:
            return dict.fromkeys(DRAWN, 0.0)
        ranks = _ranks(hold)
        return {name: _correlation(ranks, _ranks(self.scenarios.deviates[name])) for name in DRAWN}


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
    walked = _walked_hours(shown)
    few = min(scenarios.count, max(_FEWEST_LATE, scenarios.count // _LATE_SHARE))
    ways = [around, delayed(around, DAY_H), delayed(around, scenarios.lateness.some_h)]
    party = _Party.of(ways, scenarios, few)
    run = _run(boxes, party, parameters, walked, step_h, follow)
    on_time, day_late, some_late = (run.holds.part(columns) for columns in party.columns)
    return Journey(
        hours=shown,
        ambient_c=_percentiles(outside_c(around, shown, scenarios).astype(np.float32)),
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
    table = temperature_c if temperature_c.ndim == 2 else temperature_c[:, None]
    grid = steps_of(bags, float(hours[-1]), step_h, hours[(hours > 0)])
    warm = _at_hours(grid, hours, table)[:, None, :]
    road = Road(
        grid,
        np.interp(grid, hours, np.broadcast_to(motion, hours.shape))[:, None],
        np.interp(grid, hours, np.broadcast_to(pressure_atm, hours.shape))[:, None],
    )
    width = max(1, _CELLS // scenarios.count)
    parts = []
    for first in range(0, len(bags), width):
        some = bags[first : first + width]
        stepper, tally = fresh(some, parameters, scenarios, warm[0])
        for _ in walk(stepper, tally, some, road, warm, 0):
            pass
        parts.append(_holds(tally, some, float(hours[-1])).hold_h)
    return np.vstack(parts)


def delayed(around: Surroundings, hours: float) -> Surroundings:
    """Return the surroundings of boxes that wait `hours` longer at `delay_at_h`: in its air, and unmoved."""
    if hours <= 0:
        return around
    at = around.delay_at_h
    before, after = around.hours <= at, around.hours > at

    def stretched(values: Array, waiting: float | None = None) -> Array:
        here = float(np.interp(at, around.hours, values)) if waiting is None else waiting
        return np.concatenate([values[before], [here, here], values[after]])

    grid = np.concatenate([around.hours[before], [at, at + hours], around.hours[after] + hours])
    grid = np.maximum.accumulate(grid)
    return replace(
        around,
        hours=grid,
        temperature_c=stretched(around.temperature_c),
        motion=stretched(around.motion, waiting=0.0),
        pressure_atm=stretched(around.pressure_atm),
    )


@dataclass(frozen=True, slots=True)
class _Party:
    """Journeys taken in one walk: each has its way through the air, and its columns of `scenarios`."""

    ways: Sequence[Surroundings]
    columns: tuple[slice, ...]
    scenarios: Scenarios

    @staticmethod
    def of(ways: Sequence[Surroundings], scenarios: Scenarios, few: int) -> "_Party":
        """Return the first way taken in all scenarios, the others in the first few."""
        edges = [0, *(scenarios.count + few * i for i in range(len(ways)))]
        columns = tuple(slice(low, high) for low, high in pairwise(edges))
        again = range(len(ways) - 1)
        z = {
            name: np.concatenate([values, *(values[:few] for _ in again)])
            for name, values in scenarios.deviates.items()
        }
        return _Party(ways, columns, replace(scenarios, deviates=z))

    def outside_c(self, hours: Array) -> Array:
        """Return the surroundings of all columns; axes time, column [°C]."""
        parts = [
            outside_c(way, hours, self.scenarios.part(columns.start, columns.stop))
            for way, columns in zip(self.ways, self.columns, strict=True)
        ]
        return np.concatenate(parts, axis=1)

    def road(self, grid: Array) -> Road:
        """Return what acts on the bags along a grid."""
        return Road(
            grid,
            np.stack([np.interp(grid, way.hours, way.motion) for way in self.ways], axis=1),
            np.stack([np.interp(grid, way.hours, way.pressure_atm) for way in self.ways], axis=1),
            np.repeat(np.arange(len(self.ways)), [part.stop - part.start for part in self.columns]),
        )


@dataclass(frozen=True, slots=True)
class _Run:
    series: dict[str, Percentiles]
    air_c: tuple[Percentiles, ...]
    holds: Holds
    energy: tuple[Energy, ...]


def _run(
    boxes: Sequence[PackedBox],
    party: _Party,
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
        stepper, tally = fresh(some, parameters, party.scenarios, here[0], follow is not None, kinds)
        for i in walk(stepper, tally, some, road, here, still):
            if i in place:
                _store(series, stepper, rows, place[i], party.columns[0])
        if follow is not None:
            follow(stepper)
        holds.append(_holds(tally, some, float(shown[-1])))
    return _Run(_named(series), air, _joined(holds), energy)


def _heat(
    boxes: Sequence[PackedBox], party: _Party, parameters: TransitParameters, hours: Array, shown: Indices
) -> tuple[Array, tuple[Percentiles, ...], tuple[Energy, ...]]:
    """Return the temperature of all bags, and air and energy of each box on the journey in time."""
    outside, first = party.outside_c(hours), party.columns[0]
    warm = np.empty((hours.size, sum(len(box.bags) for box in boxes), party.scenarios.count))
    air, energy, row = [], [], 0
    for box in boxes:
        heat = run_box(box, hours, outside, parameters, party.scenarios)
        warm[:, row : row + len(box.bags)] = heat.bag_c
        row += len(box.bags)
        air.append(_percentiles(heat.air_c[shown, first].astype(np.float32)))
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
    found = np.stack(_ranked(values))
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


def _walked_hours(shown: Array) -> Array:
    late = np.flatnonzero(shown > LONG_STEPS_AFTER_H)
    return np.delete(shown, late[:-1:2])


def _at_hours(grid: Array, hours: Array, table: Array) -> Array:
    return np.stack([np.interp(grid, hours, column) for column in table.T], axis=1)


def _percentiles(values: Small) -> Percentiles:
    """Return percentiles over the last axis, by rank: no value that did not occur."""
    return Percentiles(*_ranked(values))


def _ranked(values: Small) -> list[Array]:
    count = values.shape[-1]
    ranks = [min(count - 1, max(0, int(np.ceil(q * count)) - 1)) for q in (0.05, 0.5, 0.95)]
    ordered = np.sort(values, axis=-1)
    return [ordered[..., rank].astype(np.float64) for rank in ranks]


def _ranks(values: Array) -> Array:
    order = np.argsort(values, kind="stable")
    ranks = np.empty(values.size)
    ranks[order] = np.arange(values.size)
    _, where, counts = np.unique(values, return_inverse=True, return_counts=True)
    sums = np.bincount(where, ranks)
    return np.asarray((sums / counts)[where])


def _correlation(one: Array, other: Array) -> float:
    a, b = one - one.mean(), other - other.mean()
    size = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / size if size > 0 else 0.0

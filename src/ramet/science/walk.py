"""The steps of a journey: what grid it is walked on, and each step with its tally of limits."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ramet.science.bag import BagStepper
from ramet.science.batch import batch
from ramet.science.limits import Kind, Tally
from ramet.science.packed import PackedBag
from ramet.science.scenarios import Scenarios, TransitParameters

Array = NDArray[np.float64]

FINE_H = 6.0
"""Steps are halved until this long after departure."""
FIRST_H = (
    *(0.0, 0.01, 0.025, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 1.0, 1.15, 1.3),
    *(1.5, 1.75, 2.0, 2.25, 2.5, 2.75, 3.0),
)
"""Steps of a bag's first hours: a big coral empties little water in minutes."""


@dataclass(frozen=True, slots=True)
class Fork:
    """Up to point `last` of the grid journeys are alike; then column i goes on from column `origin[i]`."""

    last: int
    origin: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Road:
    """Grid with what acts on all bags alike; motion and pressure have the axes point of the grid, journey.

    `journey` tells which journey each scenario is on, `fork` where they part; None when there is one.
    """

    grid: Array
    motion: Array
    pressure_atm: Array
    journey: NDArray[np.int64] | None = None
    fork: Fork | None = None

    def between(self, before: int, after: int) -> tuple[Array | float, Array | float]:
        """Return mean motion and pressure between two points: one number, or one for each scenario."""
        means = (0.5 * (table[before] + table[after]) for table in (self.motion, self.pressure_atm))
        motion, pressure = (self._of_scenarios(values) for values in means)
        return motion, pressure

    def _of_scenarios(self, values: Array) -> Array | float:
        if self.journey is None or bool((values == values[0]).all()):
            return float(values[0])
        return np.asarray(values[self.journey][None, :])


def steps_of(bags: Sequence[PackedBag], horizon_h: float, step_h: float, extra: Array) -> Array:
    """Return steps from the first sealing to the horizon: halved while bags are fresh."""
    start = -max((bag.sealed_before_h for bag in bags), default=0.0)
    fine = np.arange(0.0, start - step_h, -step_h / 2)
    head = np.arange(0.0, min(FINE_H, horizon_h) + 1e-9, step_h / 2)
    youngest = min((bag.sealed_before_h for bag in bags), default=FIRST_H[-1])
    ages = np.array(FIRST_H) - youngest
    head = np.concatenate([head, np.minimum(ages[ages > 0], horizon_h)])
    points = np.concatenate([fine[fine > start], [start], head, extra, [horizon_h]])
    merged = np.unique(np.round(points, 9))
    keep = np.concatenate([[True], np.diff(merged) > 1e-6])
    return np.asarray(merged[keep])


def fresh(
    bags: Sequence[PackedBag],
    parameters: TransitParameters,
    scenarios: Scenarios,
    temperature_c: Array,
    follow_flows: bool = False,
    kinds: Sequence[Kind] | None = None,
) -> tuple[BagStepper, Tally]:
    """Return freshly sealed bags and an empty tally of their limits."""
    known = batch(bags, parameters, scenarios)
    warm = _columns_of(temperature_c, scenarios.count)
    return BagStepper(known, warm, follow_flows), Tally(bags, scenarios.count, kinds)


def walk(
    stepper: BagStepper,
    tally: Tally,
    bags: Sequence[PackedBag],
    road: Road,
    warm: Array,
    still: int,
) -> Iterable[int]:
    """Take all steps; yield the index of each point of the grid once it is reached.

    Before departure all bags stand alike, so each takes its first hours by its own clock. `warm` starts
    at departure, `still` points of the grid after the first sealing; it has all columns, `stepper` and
    `tally` only those that are not yet alike.
    """
    sealed_before = np.array([[bag.sealed_before_h] for bag in bags])
    first = np.minimum(sealed_before, FIRST_H[-1])
    share = first / FIRST_H[-1]
    pace = _Pace(stepper, tally)
    before = pace.columns_of(warm[0])
    for start, end in pairwise(FIRST_H):
        pace.step(share * (end - start), before, *road.between(0, 0))
    yield 0
    known = first - sealed_before
    for i in range(1, road.grid.size):
        if road.fork is not None and i == road.fork.last + 1:
            pace.part(road.fork)
            before = warm[0]
        start, end = road.grid[i - 1], road.grid[i]
        hours = np.clip(end - np.maximum(start, known), 0.0, end - start)
        after = before if i <= still else pace.columns_of(warm[i - still])
        pace.step(hours, after, *road.between(i - 1, i))
        yield i
    if road.fork is not None and road.fork.last >= road.grid.size - 1:
        pace.part(road.fork)


def _columns_of(table: Array, count: int) -> Array:
    """Return the first columns of a table; one that holds for all stays as it is."""
    return table if table.shape[1] in (1, count) else np.ascontiguousarray(table[:, :count])


class _Pace:
    """Steps bags and tallies their limits."""

    def __init__(self, stepper: BagStepper, tally: Tally) -> None:
        self.stepper, self.tally = stepper, tally
        self.end = _End(stepper)

    def columns_of(self, table: Array) -> Array:
        """Return the columns of a table that the stepper has by now."""
        return _columns_of(table, self.stepper.bags.shape[1])

    def part(self, fork: Fork) -> None:
        """Go on with one column for each journey that was alike so far."""
        self.stepper.take_columns(fork.origin)
        self.tally.take_columns(fork.origin)
        self.end = _End(self.stepper)

    def step(
        self, hours: Array, temperature_c: Array, motion: Array | float, pressure_atm: Array | float
    ) -> None:
        """Take one step of each bag's own length."""
        if not hours.any():
            return
        age = self.stepper.age_h
        self.stepper.step(hours, temperature_c, motion, pressure_atm)
        before, after = self.end, _End(self.stepper)

        def pace(quantity: str, below: bool) -> Array | None:
            if quantity == "temperature_c" and below:
                return None
            halves = [end.half_more(quantity) for end in (before, after)]
            more = [half for half in halves if half is not None]
            return sum(more[1:], more[0] + 1.0) if more else None

        self.tally.add(age, self.stepper.last_hours, before.values, after.values, pace)
        self.end = after


class _End:
    """What limits are set on at one end of a step, and how fast time counts there.

    Time counts double for low oxygen in acid water, and for heat with low oxygen.
    """

    def __init__(self, stepper: BagStepper) -> None:
        self._parameters, self._h_umol_kg = stepper.bags.parameters, stepper.state.h_umol_kg
        self.values = {
            "oxygen_mg_l": stepper.oxygen_mg_l,
            "temperature_c": stepper.temperature_c,
            "opened_ammonia_umol_l": stepper.opened_ammonia_umol_l,
        }
        self._known: dict[str, Array | None] = {}

    def half_more(self, quantity: str) -> Array | None:
        """Return half of what time counts beyond once, None for nothing; worked when first asked for."""
        if quantity not in self._known:
            self._known[quantity] = self._find(quantity)
        return self._known[quantity]

    def _find(self, quantity: str) -> Array | None:
        p = self._parameters
        if quantity == "oxygen_mg_l":
            return _half_more(self._h_umol_kg, 10.0 ** (6.0 - p.low_ph.high), 10.0 ** (6.0 - p.low_ph.low))
        if quantity == "temperature_c":
            once, twice = p.double_dose_oxygen_mg_l.high, p.double_dose_oxygen_mg_l.low
            return _half_more(self.values["oxygen_mg_l"], once, twice)
        return None


def _half_more(values: Array, once: float, twice: float) -> Array | None:
    """Return 0 at `once` up to a half at `twice`; None when all are short of `once`."""
    nearest = float(values.max() if twice > once else values.min())
    if nearest <= once if twice > once else nearest >= once:
        return None
    more = values - once
    more *= 0.5 / (twice - once)
    np.minimum(more, 0.5, out=more)
    np.maximum(more, 0.0, out=more)
    return np.asarray(more)

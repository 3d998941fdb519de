"""The steps of a journey: what grid it is walked on, and each step with its tally of limits."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ramet.science.bag import BagStepper
from ramet.science.batch import batch
from ramet.science.limits import Tally
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
class Road:
    """Grid with what acts on all bags alike; motion and pressure at the grid's points."""

    grid: Array
    motion: Array
    pressure_atm: Array


def steps_of(bags: Sequence[PackedBag], horizon_h: float, step_h: float, extra: Array) -> Array:
    """Return steps from the first sealing to the horizon: halved while bags are fresh."""
    start = -max((bag.sealed_before_h for bag in bags), default=0.0)
    fine = np.arange(0.0, start - step_h, -step_h / 2)
    head = np.arange(0.0, min(FINE_H, horizon_h) + 1e-9, step_h / 2)
    if any(bag.sealed_before_h < FIRST_H[-1] for bag in bags):
        head = np.concatenate([head, np.minimum(FIRST_H, horizon_h)])
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
) -> tuple[BagStepper, Tally]:
    """Return freshly sealed bags and an empty tally of their limits."""
    known = batch(bags, parameters, scenarios)
    return BagStepper(known, temperature_c, follow_flows), Tally(bags, scenarios.count)


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
    at departure, `still` points of the grid after the first sealing.
    """
    sealed_before = np.array([[bag.sealed_before_h] for bag in bags])
    first = np.minimum(sealed_before, FIRST_H[-1])
    share = first / FIRST_H[-1]
    pace = _Pace(stepper, tally)
    for start, end in pairwise(FIRST_H):
        pace.step(share * (end - start), warm[0], float(road.motion[0]), float(road.pressure_atm[0]))
    yield 0
    known = first - sealed_before
    for i in range(1, road.grid.size):
        start, end = road.grid[i - 1], road.grid[i]
        hours = np.clip(end - np.maximum(start, known), 0.0, end - start)
        motion = 0.5 * float(road.motion[i - 1] + road.motion[i])
        pressure = 0.5 * float(road.pressure_atm[i - 1] + road.pressure_atm[i])
        pace.step(hours, warm[max(i - still, 0)], motion, pressure)
        yield i


class _Pace:
    """Steps bags and tallies their limits."""

    def __init__(self, stepper: BagStepper, tally: Tally) -> None:
        self.stepper, self.tally = stepper, tally
        self.before = _watched(stepper)
        self.paces = _paces(stepper, self.before)

    def step(self, hours: Array, temperature_c: Array, motion: float, pressure_atm: float) -> None:
        """Take one step of each bag's own length."""
        age = self.stepper.age_h
        self.stepper.step(hours, temperature_c, motion, pressure_atm)
        after = _watched(self.stepper)
        later = _paces(self.stepper, after)
        weights = {name: 0.5 * (self.paces[name] + later[name]) for name in later}
        self.tally.add(age, hours, self.before, after, weights)
        self.before, self.paces = after, later


def _watched(stepper: BagStepper) -> dict[str, Array]:
    shape = stepper.bags.shape
    return {
        "oxygen_mg_l": stepper.oxygen_mg_l,
        "temperature_c": np.broadcast_to(stepper.temperature_c, shape),
        "opened_ammonia_umol_l": stepper.opened_ammonia_umol_l,
    }


def _paces(stepper: BagStepper, watched: dict[str, Array]) -> dict[str, Array]:
    """Return how fast time counts: double for low oxygen in acid water, double for heat with low oxygen."""
    p = stepper.bags.parameters
    acid = (10.0 ** (6.0 - p.low_ph.high), 10.0 ** (6.0 - p.low_ph.low))
    h = stepper.state.h_umol_kg
    oxygen = watched["oxygen_mg_l"]
    low, high = p.double_dose_oxygen_mg_l.low, p.double_dose_oxygen_mg_l.high
    return {
        "oxygen_mg_l": 1.0 + np.clip((h - acid[0]) * (1.0 / (acid[1] - acid[0])), 0.0, 1.0),
        "temperature_c": 1.0 + np.clip((high - oxygen) * (1.0 / (high - low)), 0.0, 1.0),
    }

"""Journeys that come late, taken in one walk with the one in time: alike until the boxes wait."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ramet.science.heat import outside_c
from ramet.science.packed import Surroundings
from ramet.science.scenarios import Scenarios
from ramet.science.walk import Fork, Road

Array = NDArray[np.float64]

_LATE_SHARE = 8
_FEWEST_LATE = 32
"""Late journeys take this part of the scenarios, at least so many."""

_STOP_H = 0.1
"""Boxes come to rest, and move on, within this time."""


def delayed(around: Surroundings, hours: float) -> Surroundings:
    """Return the surroundings of boxes that wait `hours` longer at `delay_at_h`: in its air, and unmoved."""
    if hours <= 0:
        return around
    at, edge = around.delay_at_h, min(_STOP_H, hours / 4)
    before, after = around.hours < at, around.hours > at

    def stretched(values: Array, waiting: float | None = None) -> Array:
        here = float(np.interp(at, around.hours, values))
        stays = here if waiting is None else waiting
        return np.concatenate([values[before], [here, stays, stays, here], values[after]])

    wait = [at, at + edge, at + hours - edge, at + hours]
    return replace(
        around,
        hours=np.concatenate([around.hours[before], wait, around.hours[after] + hours]),
        temperature_c=stretched(around.temperature_c),
        motion=stretched(around.motion, waiting=0.0),
        pressure_atm=stretched(around.pressure_atm),
    )


@dataclass(frozen=True, slots=True)
class Party:
    """Journeys taken in one walk: each has its way through the air, and its columns of `scenarios`.

    The first way is taken in all scenarios, the others in the first few of them again.
    """

    ways: Sequence[Surroundings]
    columns: tuple[slice, ...]
    scenarios: Scenarios

    @staticmethod
    def of(ways: Sequence[Surroundings], scenarios: Scenarios) -> "Party":
        """Return the first way taken in all scenarios, the others in the first few."""
        count = scenarios.count
        few = min(count, max(_FEWEST_LATE, count // _LATE_SHARE))
        edges = [0, *(count + few * i for i in range(len(ways)))]
        columns = tuple(slice(low, high) for low, high in pairwise(edges))
        party = Party(ways, columns, scenarios)
        z = {name: values[party.origin] for name, values in scenarios.deviates.items()}
        return replace(party, scenarios=replace(scenarios, deviates=z))

    @property
    def in_time(self) -> Scenarios:
        """The scenarios of the first way."""
        return self.scenarios.part(0, self.columns[0].stop)

    @property
    def origin(self) -> NDArray[np.int64]:
        """For each column that of the first way whose scenario it takes."""
        return np.concatenate([np.arange(part.stop - part.start) for part in self.columns])

    def outside_c(self, hours: Array) -> Array:
        """Return the surroundings of all columns; axes time, column [°C]."""
        parts = [
            outside_c(way, hours, self.scenarios.part(columns.start, columns.stop))
            for way, columns in zip(self.ways, self.columns, strict=True)
        ]
        return np.concatenate(parts, axis=1)

    def road(self, grid: Array) -> Road:
        """Return what acts on the bags along a grid."""
        tables = [
            np.stack([np.interp(grid, way.hours, values(way)) for way in self.ways], axis=1)
            for values in (_motion, _pressure, _temperature)
        ]
        apart = np.flatnonzero(np.any([table != table[:, :1] for table in tables], axis=(0, 2)))
        last = int(apart[0]) - 1 if apart.size else grid.size - 1
        journey = np.repeat(np.arange(len(self.ways)), [part.stop - part.start for part in self.columns])
        return Road(grid, tables[0], tables[1], journey, Fork(max(last, 0), self.origin))


def _motion(way: Surroundings) -> Array:
    return way.motion


def _pressure(way: Surroundings) -> Array:
    return way.pressure_atm


def _temperature(way: Surroundings) -> Array:
    return way.temperature_c

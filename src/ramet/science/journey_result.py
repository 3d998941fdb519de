"""What a forecast says: holds over scenarios, their percentiles and chances, and what they hang on."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.science.heat import Energy
from ramet.science.scenarios import DRAWN, Scenarios

Array = NDArray[np.float64]
Small = NDArray[np.float32]

NONE_BROKEN = ""
"""First limit of a bag that holds to the horizon."""
DAY_H = 24.0


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

    def limit_short_of(self, bag: int, needed_h: float) -> str:
        """Return the limit that most often ends the hold of a bag before it is needed no more [h].

        Of all scenarios only those that fall short are asked; where none does, the limit that breaks first.
        """
        short = self.first[bag][(self.hold_h[bag] < needed_h) & ~self.censored[bag]]
        return self.codes[int(np.bincount(short).argmax())] if short.size else self.first_limit(bag)

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


def percentiles(values: Small) -> Percentiles:
    """Return percentiles over the last axis, by rank: no value that did not occur."""
    return Percentiles(*ranked(values))


def ranked(values: Small) -> list[Array]:
    """Return the 5th, 50th and 95th percentile over the last axis, by rank."""
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

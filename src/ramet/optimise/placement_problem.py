"""What placement is about: items with their points on each spot, and who must keep apart."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Bools = NDArray[np.bool_]
SpotMm = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Item:
    """Something to place. Rank 0 matters most; `points` maps each spot it may take to how well it suits."""

    id: str
    rank: int
    points: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class Stream:
    """What drifts off some items harms others: how far down the current, and how far to its sides."""

    along: tuple[int, int]
    length_mm: int
    side_mm: int
    pairs: frozenset[tuple[int, int]]
    """Items (harmful, harmed)."""


@dataclass(frozen=True, slots=True)
class SpotProblem:
    """Items and spots. `apart_mm[i][j]` is the least distance between the middles of items i and j."""

    items: tuple[Item, ...]
    spots_mm: tuple[SpotMm, ...]
    apart_mm: tuple[tuple[int, ...], ...]
    stream: Stream | None = None

    def __post_init__(self) -> None:
        count = len(self.items)
        if len(self.apart_mm) != count or any(len(row) != count for row in self.apart_mm):
            raise ValueError(f"apart_mm must be {count} by {count}")


@dataclass(slots=True)
class Room:
    """Which spots rule each other out, for every kind of pair that occurs."""

    problem: SpotProblem
    may: Bools = field(init=False)
    points: NDArray[np.int64] = field(init=False)
    _squares: NDArray[np.int64] = field(init=False)
    _below: Bools = field(init=False)
    _known: dict[tuple[int, bool, bool], Bools] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        items, spots = self.problem.items, self.problem.spots_mm
        at = np.array(spots, dtype=np.int64).reshape(len(spots), 3)
        away = at[None, :, :] - at[:, None, :]
        self._squares = (away**2).sum(axis=2)
        self._below = _down_current(away, self.problem.stream)
        self.points = np.zeros((len(items), len(spots)), dtype=np.int64)
        self.may = np.zeros((len(items), len(spots)), dtype=bool)
        for index, item in enumerate(items):
            for spot, points in item.points.items():
                self.may[index, spot], self.points[index, spot] = True, points

    def kind(self, one: int, other: int) -> tuple[int, bool, bool]:
        """Return what decides the clashes of two items: distance, and who harms whom down the current."""
        pairs = self.problem.stream.pairs if self.problem.stream else frozenset()
        return self.problem.apart_mm[one][other], (one, other) in pairs, (other, one) in pairs

    def clash(self, one: int, other: int) -> Bools:
        """Return the table [spot of one, spot of other] of places that rule each other out."""
        kind = self.kind(one, other)
        found = self._known.get(kind)
        if found is None:
            apart, harms, is_harmed = kind
            # A spot holds one item, whatever the distances say.
            found = (self._squares < apart * apart) | np.eye(len(self._squares), dtype=bool)
            if harms:
                found = found | self._below
            if is_harmed:
                found = found | self._below.T
            self._known[kind] = found
        return found

    def free_for(self, item: int, placed: Mapping[int, int]) -> Bools:
        """Return the spots that an item may take beside the placed ones."""
        free: Bools = self.may[item].copy()
        for other, spot in placed.items():
            if other != item:
                free &= ~self.clash(other, item)[spot]
        return free


def ranks(problem: SpotProblem) -> tuple[int, ...]:
    """Return the ranks that occur, the most important first."""
    return tuple(sorted({item.rank for item in problem.items}))


def _down_current(away: NDArray[np.int64], stream: Stream | None) -> Bools:
    """Return the table [spot, spot down the current of it]."""
    if stream is None:
        return np.zeros(away.shape[:2], dtype=bool)
    x, y = stream.along
    along = away[:, :, 0] * x + away[:, :, 1] * y
    aside = np.abs(away[:, :, 0] * y - away[:, :, 1] * x)
    return np.asarray((along > 0) & (along <= stream.length_mm) & (aside <= stream.side_mm))

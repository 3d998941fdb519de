"""What placement is about: items with their points on each spot, and who must keep apart."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Item:
    """Something to place. Rank 0 matters most; `points` maps each spot it may take to how well it suits."""

    id: str
    rank: int
    points: Mapping[int, int]


@dataclass(frozen=True, slots=True)
class SpotProblem:
    """Items and spots. `apart_mm[i][j]` is the least distance between the middles of items i and j."""

    items: tuple[Item, ...]
    spots_mm: tuple[tuple[int, int], ...]
    apart_mm: tuple[tuple[int, ...], ...]

    def __post_init__(self) -> None:
        count = len(self.items)
        if len(self.apart_mm) != count or any(len(row) != count for row in self.apart_mm):
            raise ValueError(f"apart_mm must be {count} by {count}")


@dataclass(slots=True)
class Room:
    """Which spots are too near to which, for every distance that occurs."""

    problem: SpotProblem
    near: dict[int, Bools] = field(init=False)
    may: Bools = field(init=False)
    points: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        items, spots = self.problem.items, self.problem.spots_mm
        at = np.array(spots, dtype=np.int64).reshape(len(spots), 2)
        squares = ((at[:, None, :] - at[None, :, :]) ** 2).sum(axis=2)
        # A spot holds one item, whatever the distances say.
        same = np.eye(len(spots), dtype=bool)
        distances = sorted({apart for row in self.problem.apart_mm for apart in row})
        self.near = {apart: (squares < apart * apart) | same for apart in distances}
        self.points = np.zeros((len(items), len(spots)), dtype=np.int64)
        self.may = np.zeros((len(items), len(spots)), dtype=bool)
        for index, item in enumerate(items):
            for spot, points in item.points.items():
                self.may[index, spot], self.points[index, spot] = True, points

    def free_for(self, item: int, placed: Mapping[int, int]) -> Bools:
        """Return the spots that an item may take beside the placed ones."""
        free: Bools = self.may[item].copy()
        for other, spot in placed.items():
            if other != item:
                free &= ~self.near[self.problem.apart_mm[item][other]][spot]
        return free


def ranks(problem: SpotProblem) -> tuple[int, ...]:
    """Return the ranks that occur, the most important first."""
    return tuple(sorted({item.rank for item in problem.items}))

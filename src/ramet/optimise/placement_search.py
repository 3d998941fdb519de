"""Improves an assignment of spots by trial: put one item elsewhere, and move what it drives out.

Worse assignments are accepted less and less often (simulated annealing), so that the search gets out of
corners. The number of trials is fixed beforehand and draws come from the seed: the same answer every time.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ramet.optimise.placement import Room, SpotProblem, ranks

HOT_POINTS, COLD_POINTS = 8.0, 0.5
"""Loss of points that is accepted once in e trials, at the start and at the end."""
DRIVEN_OUT_MOST = 3
NOWHERE = -1


def search(room: Room, placed: Mapping[int, int], trials: int, seed: int) -> dict[int, int]:
    """Return the best assignment met in so many trials, from a known one on."""
    state = _State(room)
    for item, spot in placed.items():
        state.spot[item] = spot
    draw = random.Random(seed)
    worth = best = sum(state.worth(item) for item in range(state.count))
    kept = state.spot.copy()
    for trial in range(trials):
        heat = HOT_POINTS * (COLD_POINTS / HOT_POINTS) ** (trial / trials)
        moved = _try(state, draw, heat)
        worth += moved
        if worth > best:
            best, kept = worth, state.spot.copy()
    return {item: int(spot) for item, spot in enumerate(kept) if spot != NOWHERE}


@dataclass(slots=True)
class _State:
    """Where everything stands; `near[k, s]` marks what is nearer to spot s than the k-th distance."""

    room: Room
    count: int = field(init=False)
    spot: NDArray[np.int64] = field(init=False)
    near: NDArray[np.bool_] = field(init=False)
    kind: NDArray[np.int64] = field(init=False)
    choices: list[list[int]] = field(init=False)
    weights: list[int] = field(init=False)

    def __post_init__(self) -> None:
        problem = self.room.problem
        self.count = len(problem.items)
        self.spot = np.full(self.count, NOWHERE, dtype=np.int64)
        index = {apart: k for k, apart in enumerate(sorted(self.room.near))}
        self.near = np.stack([self.room.near[apart] for apart in sorted(self.room.near)])
        self.kind = np.array([[index[apart] for apart in row] for row in problem.apart_mm], dtype=np.int64)
        self.choices = [sorted(item.points) for item in problem.items]
        self.weights = _weights(problem)

    def worth(self, item: int) -> int:
        """Weight of an item that stands, with the points of its spot."""
        spot = int(self.spot[item])
        return 0 if spot == NOWHERE else self.weights[item] + int(self.room.points[item, spot])

    def in_the_way(self, item: int, spot: int) -> list[int]:
        """Return what would stand too near to an item on a spot."""
        stands = self.spot != NOWHERE
        stands[item] = False
        others = np.flatnonzero(stands & self.near[self.kind[item], spot, self.spot])
        return [int(other) for other in others]

    def best_free(self, item: int) -> int:
        """Return the free spot that suits an item best, or nowhere."""
        free = self.room.may[item].copy()
        others = np.flatnonzero(self.spot != NOWHERE)
        free &= ~self.near[self.kind[item, others], self.spot[others]].any(axis=0)
        points = np.where(free, self.room.points[item], NOWHERE)
        spot = int(points.argmax())
        return spot if free[spot] else NOWHERE


def _try(state: _State, draw: random.Random, heat: float) -> int:
    """Put one item on another spot; return the change of worth, 0 when it is taken back."""
    item = int(draw.random() * state.count)
    choices = state.choices[item]
    if not choices:
        return 0
    spot = choices[int(draw.random() * len(choices))]
    if spot == state.spot[item]:
        return 0
    driven = state.in_the_way(item, spot)
    if len(driven) > DRIVEN_OUT_MOST:
        return 0
    touched = [item, *driven]
    before = [int(state.spot[one]) for one in touched]
    worth = sum(state.worth(one) for one in touched)
    state.spot[touched] = NOWHERE
    state.spot[item] = spot
    for one in sorted(driven, key=lambda one: (-state.weights[one], one)):
        state.spot[one] = state.best_free(one)
    change = sum(state.worth(one) for one in touched) - worth
    if change >= 0 or draw.random() < math.exp(change / heat):
        return change
    state.spot[touched] = before
    return 0


def _weights(problem: SpotProblem) -> list[int]:
    """Weights that put ranks before points, and one item of a rank before all of the lower ranks."""
    below = 1 + sum(max(item.points.values(), default=0) for item in problem.items)
    by_rank: dict[int, int] = {}
    for rank in reversed(ranks(problem)):
        by_rank[rank] = below
        below += below * sum(item.rank == rank for item in problem.items)
    return [by_rank[item.rank] for item in problem.items]

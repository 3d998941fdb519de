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

from ramet.optimise.placement_problem import Room, SpotProblem, ranks

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
    worth = best = sum(state.worth(item, spot) for item, spot in enumerate(state.spot))
    kept = list(state.spot)
    for trial in range(trials):
        heat = HOT_POINTS * (COLD_POINTS / HOT_POINTS) ** (trial / trials)
        worth += _try(state, draw, heat)
        if worth > best:
            best, kept = worth, list(state.spot)
    return {item: spot for item, spot in enumerate(kept) if spot != NOWHERE}


@dataclass(slots=True)
class _State:
    """Where everything stands. Sets of spots are whole numbers, one bit a spot: a trial takes microseconds.

    `near[i][k][s]` are the spots too near for item k when item i stands on s; `liked[i]` are the spots of
    item i with their points, the best first.
    """

    room: Room
    count: int = field(init=False)
    spot: list[int] = field(init=False)
    near: list[list[list[int]]] = field(init=False)
    liked: list[list[int]] = field(init=False)
    weights: list[int] = field(init=False)

    def __post_init__(self) -> None:
        problem = self.room.problem
        self.count = len(problem.items)
        self.spot = [NOWHERE] * self.count
        bits: dict[tuple[int, bool, bool], list[int]] = {}
        items = range(self.count)
        for kind, one, other in ((self.room.kind(i, k), i, k) for i in items for k in items):
            if kind not in bits:
                bits[kind] = _whole_numbers(self.room.clash(one, other))
        self.near = [[bits[self.room.kind(i, k)] for k in items] for i in items]
        self.liked = [
            sorted(item.points, key=lambda spot: (-item.points[spot], spot)) for item in problem.items
        ]
        self.weights = _weights(problem)

    def worth(self, item: int, spot: int) -> int:
        """Weight of an item that stands, with the points of its spot."""
        return 0 if spot == NOWHERE else self.weights[item] + self.room.problem.items[item].points[spot]

    def in_the_way(self, item: int, spot: int) -> list[int]:
        """Return what would stand too near to an item on a spot."""
        near = self.near[item]
        return [
            other
            for other, at in enumerate(self.spot)
            if at != NOWHERE and other != item and near[other][spot] >> at & 1
        ]

    def best_free(self, item: int) -> int:
        """Return the free spot that suits an item best, or nowhere."""
        taken = 0
        for other, at in enumerate(self.spot):
            if at != NOWHERE and other != item:
                taken |= self.near[other][item][at]
        return next((spot for spot in self.liked[item] if not taken >> spot & 1), NOWHERE)


def _try(state: _State, draw: random.Random, heat: float) -> int:
    """Put one item on another spot; return the change of worth, 0 when it is taken back."""
    item = int(draw.random() * state.count)
    liked = state.liked[item]
    if not liked:
        return 0
    spot = liked[int(draw.random() * len(liked))]
    if spot == state.spot[item]:
        return 0
    driven = state.in_the_way(item, spot)
    if len(driven) > DRIVEN_OUT_MOST:
        return 0
    before = [(one, state.spot[one]) for one in (item, *driven)]
    for one in driven:
        state.spot[one] = NOWHERE
    state.spot[item] = spot
    for one in sorted(driven, key=lambda one: (-state.weights[one], one)):
        state.spot[one] = state.best_free(one)
    change = sum(state.worth(one, state.spot[one]) - state.worth(one, at) for one, at in before)
    if change >= 0 or draw.random() < math.exp(change / heat):
        return change
    for one, at in before:
        state.spot[one] = at
    return 0


def _whole_numbers(near: NDArray[np.bool_]) -> list[int]:
    """Each row of a table of yes and no as one whole number, spot s as bit s."""
    rows = np.packbits(near, axis=1, bitorder="little")
    return [int.from_bytes(row.tobytes(), "little") for row in rows]


def _weights(problem: SpotProblem) -> list[int]:
    """Weights that put ranks before points, and one item of a rank before all of the lower ranks."""
    below = 1 + sum(max(item.points.values(), default=0) for item in problem.items)
    by_rank: dict[int, int] = {}
    for rank in reversed(ranks(problem)):
        by_rank[rank] = below
        below += below * sum(item.rank == rank for item in problem.items)
    return [by_rank[item.rank] for item in problem.items]

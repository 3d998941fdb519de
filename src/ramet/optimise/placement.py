"""Which piece stands on which spot. Integers only: whole mm between spots, whole points for a good place.

No two items stand nearer to each other than the problem asks. Goals in order: as many of the first rank as
can be, then of the next ranks, then the most points.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ramet.optimise.problem import Budget, GoalValue

Bools = NDArray[np.bool_]

GOOD_ENOUGH = 0.03
"""Relative gap to the bound at which the solver is not asked any more."""
RESTARTS = 6
ROUNDS = 3


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


@dataclass(frozen=True, slots=True)
class SpotResult:
    """The spot of each placed item, by index, and how good that is against what is possible at most."""

    spot_of: Mapping[int, int]
    goals: tuple[GoalValue, ...]


def assign(problem: SpotProblem, budget: Budget) -> SpotResult:
    """Return the best assignment found within the budget.

    A first assignment places the choosiest items first, and is improved by moving one item at a time; the
    solver takes over only where it is farther from the bound than `GOOD_ENOUGH`.
    """
    room = _Room(problem)
    best = _first(room, problem)
    for turn in range(RESTARTS):
        if len(best) == len(problem.items):
            break
        best = max(best, _again(room, problem, best, turn), key=lambda one: _worth(problem, one))
    best = _improved(room, problem, best)
    goals = _goals(problem, best, _easy_bounds(problem))
    if all(_near(goal) for goal in goals) or budget.deterministic_s <= 0:
        return SpotResult(best, goals)
    from ramet.optimise.placement_model import solve_spots  # loads the solver

    solved, bounds = solve_spots(problem, room.near, best, budget)
    return SpotResult(solved, _goals(problem, solved, bounds))


@dataclass(slots=True)
class _Room:
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


def _first(room: _Room, problem: SpotProblem) -> dict[int, int]:
    widest = [max(row, default=0) for row in problem.apart_mm]
    order = sorted(
        range(len(problem.items)),
        key=lambda i: (problem.items[i].rank, -widest[i], int(room.may[i].sum()), problem.items[i].id),
    )
    return _in_order(room, problem, order, {})


def _again(room: _Room, problem: SpotProblem, best: Mapping[int, int], turn: int) -> dict[int, int]:
    """Place the left-out items first within their rank, the others after, turned about by `turn`."""
    count = len(problem.items)
    order = sorted(
        range(count),
        key=lambda i: (problem.items[i].rank, i in best, (i * (2 * turn + 3)) % max(1, count), i),
    )
    return _in_order(room, problem, order, {})


def _in_order(
    room: _Room, problem: SpotProblem, order: Sequence[int], placed: dict[int, int]
) -> dict[int, int]:
    free = {item: room.free_for(item, placed) for item in order}
    waiting = [item for item in order if item not in placed]
    while waiting:
        item = waiting.pop(0)
        spots = np.flatnonzero(free[item])
        if not len(spots):
            continue
        # The spot that takes the least choice from those still waiting; among equals the one that suits.
        taken = np.zeros(len(spots), dtype=np.float64)
        for other in waiting:
            left = int(free[other].sum())
            if left:
                near = room.near[problem.apart_mm[item][other]][spots]
                taken += (near & free[other]).sum(axis=1) / left
        worth = room.points[item][spots] - 100.0 * taken
        spot = int(spots[int(np.argmax(worth))])
        placed[item] = spot
        for other in waiting:
            free[other] &= ~room.near[problem.apart_mm[item][other]][spot]
    return placed


def _improved(room: _Room, problem: SpotProblem, placed: Mapping[int, int]) -> dict[int, int]:
    """Move each item to the free spot that suits it best, and let left-out items in, until nothing moves."""
    best = dict(placed)
    for _ in range(ROUNDS * len(problem.items)):
        moved = False
        for item in range(len(problem.items)):
            free = np.flatnonzero(room.free_for(item, best))
            if not len(free):
                continue
            spot = int(free[int(np.argmax(room.points[item][free]))])
            if item not in best or room.points[item][spot] > room.points[item][best[item]]:
                best[item], moved = spot, True
        if not moved:
            break
    return best


def _worth(problem: SpotProblem, placed: Mapping[int, int]) -> tuple[int, ...]:
    return tuple(goal.value for goal in _goals(problem, placed, _easy_bounds(problem)))


def _easy_bounds(problem: SpotProblem) -> tuple[int, ...]:
    """What no assignment can beat: every item that has a spot at all, on the spot that suits it best."""
    able = [item for item in problem.items if item.points]
    counts = tuple(sum(item.rank == rank for item in able) for rank in ranks(problem))
    return (*counts, sum(max(item.points.values()) for item in able))


def ranks(problem: SpotProblem) -> tuple[int, ...]:
    """Return the ranks that occur, the most important first."""
    return tuple(sorted({item.rank for item in problem.items}))


def _goals(problem: SpotProblem, placed: Mapping[int, int], bounds: Sequence[int]) -> tuple[GoalValue, ...]:
    values = [
        (f"placed of rank {rank}", sum(problem.items[i].rank == rank for i in placed))
        for rank in ranks(problem)
    ]
    values.append(("points", sum(problem.items[i].points[spot] for i, spot in placed.items())))
    return tuple(
        GoalValue(name, value, bound, proven=value == bound)
        for (name, value), bound in zip(values, bounds, strict=True)
    )


def _near(goal: GoalValue) -> bool:
    allowed: float = GOOD_ENOUGH if goal.goal == "points" else 0.0
    return abs(goal.bound - goal.value) <= allowed * max(1, abs(goal.value))

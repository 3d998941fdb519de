"""Which piece stands on which spot. Integers only: whole mm between spots, whole points for a good place.

No two items stand nearer to each other than the problem asks. Goals in order: as many of the first rank as
can be, then of the next ranks, then the most points.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ramet.optimise.matching import matching_worth
from ramet.optimise.placement_problem import Room, SpotProblem, ranks
from ramet.optimise.problem import Budget, GoalValue

GOOD_ENOUGH = 0.03
"""Relative gap to the bound at which the solver is not asked any more."""
POINTS = "points"
TRIALS_PER_S = 30000
"""Trials of the search that count as one deterministic second."""
TRIALS_PER_ROUND = 15000
"""After each round the search goes on from the best so far, heated again, while it is not good enough."""
TRIALS_PER_CHOICE = 100
"""More trials than this for each pair of an item and a spot change nothing."""
MODEL_CHOICES_MOST = 1200
"""Above so many pairs of an item and a spot the solver proves nothing in reasonable time."""


@dataclass(frozen=True, slots=True)
class SpotResult:
    """The spot of each placed item, by index, and how good that is against what is possible at most."""

    spot_of: Mapping[int, int]
    goals: tuple[GoalValue, ...]


def assign(problem: SpotProblem, budget: Budget) -> SpotResult:
    """Return the best assignment found within the budget, with bounds.

    A first assignment places the most important and choosiest items first; then a search by trial takes
    over, and on small problems the solver, which proves what is best.
    """
    room = Room(problem)
    bounds = _easy_bounds(room)
    if not problem.items or not problem.spots_mm:
        return SpotResult({}, _goals(problem, {}, bounds))
    from ramet.optimise.placement_search import search

    choices = sum(len(item.points) for item in problem.items)
    best = _improved(room, problem, _first(room, problem))
    left = min(round(TRIALS_PER_S * budget.deterministic_s), TRIALS_PER_CHOICE * choices)
    number = 0
    while left > 0 and not _all_near(_goals(problem, best, bounds), GOOD_ENOUGH if number else 0.0):
        best = search(room, best, min(left, TRIALS_PER_ROUND), budget.seed + number)
        left, number = left - TRIALS_PER_ROUND, number + 1
    goals = _goals(problem, best, bounds)
    if _all_near(goals, GOOD_ENOUGH) or choices > MODEL_CHOICES_MOST:
        return SpotResult(best, goals)
    from ramet.optimise.placement_model import solve_spots  # loads the solver

    solved, proven = solve_spots(room, best, bounds, budget)
    return SpotResult(solved, _goals(problem, solved, proven))


def _first(room: Room, problem: SpotProblem) -> dict[int, int]:
    widest = [max(row, default=0) for row in problem.apart_mm]
    order = sorted(
        range(len(problem.items)),
        key=lambda i: (problem.items[i].rank, -widest[i], int(room.may[i].sum()), problem.items[i].id),
    )
    return _in_order(room, problem, order)


def _in_order(room: Room, problem: SpotProblem, order: Sequence[int]) -> dict[int, int]:
    placed: dict[int, int] = {}
    free = {item: room.free_for(item, placed) for item in order}
    waiting = list(order)
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
                near = room.clash(item, other)[spots]
                taken += (near & free[other]).sum(axis=1) / left
        worth = room.points[item][spots] - 100.0 * taken
        spot = int(spots[int(np.argmax(worth))])
        placed[item] = spot
        for other in waiting:
            free[other] &= ~room.clash(item, other)[spot]
    return placed


def _improved(room: Room, problem: SpotProblem, placed: Mapping[int, int]) -> dict[int, int]:
    """Move each item to the free spot that suits it best, and let left-out items in, until nothing moves."""
    best = dict(placed)
    for _ in range(len(problem.items)):
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


def _easy_bounds(room: Room) -> tuple[int, ...]:
    """What no assignment can beat, reach or not: a spot holds one item, and each item wants its best spot."""
    problem = room.problem
    of_rank = {
        rank: [i for i, item in enumerate(problem.items) if item.rank == rank] for rank in ranks(problem)
    }
    counts = tuple(matching_worth(room.may[rows].astype(np.int64)) for rows in of_rank.values())
    return (*counts, matching_worth(room.points))


def _goals(problem: SpotProblem, placed: Mapping[int, int], bounds: Sequence[int]) -> tuple[GoalValue, ...]:
    values = [
        (f"placed of rank {rank}", sum(problem.items[i].rank == rank for i in placed))
        for rank in ranks(problem)
    ]
    values.append((POINTS, sum(problem.items[i].points[spot] for i, spot in placed.items())))
    return tuple(
        GoalValue(name, value, bound, proven=value == bound)
        for (name, value), bound in zip(values, bounds, strict=True)
    )


def _all_near(goals: Sequence[GoalValue], share: float) -> bool:
    """Tell whether all ranks are as full as can be, and the points within a share of their bound."""
    return all(
        goal.bound - goal.value <= (share * abs(goal.value) if goal.goal == POINTS else 0) for goal in goals
    )

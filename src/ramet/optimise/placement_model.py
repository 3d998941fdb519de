"""The assignment of spots as a constraint model, started from a known assignment."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from ortools.sat.python import cp_model

from ramet.optimise.placement_problem import Room, SpotProblem, ranks
from ramet.optimise.problem import Budget
from ramet.optimise.solving import Account


def solve_spots(
    room: Room, known: Mapping[int, int], most_of: Sequence[int], budget: Budget
) -> tuple[dict[int, int], tuple[int, ...]]:
    """Return the best assignment found, and a proven bound on each goal.

    `most_of` is what no assignment can beat, goal by goal. A goal that is not proven leaves the later ones to
    what is left; their bound then holds beside the value reached, not beside the bound.
    """
    problem = room.problem
    model, taken = _model(room)
    account = Account(budget)
    placed, bounds = dict(known), []
    goals = [
        *(
            sum(one for i, on in taken.items() if problem.items[i].rank == rank for one in on.values())
            for rank in ranks(problem)
        ),
        sum(problem.items[i].points[s] * one for i, on in taken.items() for s, one in on.items()),
    ]
    for number, (goal, most) in enumerate(zip(goals, most_of, strict=True)):
        value = _value(problem, placed, number)
        if value == most:
            bounds.append(most)
        else:
            _hint(model, taken, placed)
            model.maximize(goal)
            answer = account.solve(model, account.left_s / (1 if number == len(goals) - 1 else 2))
            if answer is not None and answer.has_solution:
                found = _read(answer.solver, taken)
                placed = found if _value(problem, found, number) >= value else placed
            told = answer is not None and answer.verdict in ("optimal", "feasible")
            reached = min(most, int(np.floor(answer.bound + 1e-6))) if answer and told else most
            bounds.append(max(reached, _value(problem, placed, number)))
        model.add(goal >= _value(problem, placed, number))
    return placed, tuple(bounds)


def _model(room: Room) -> tuple[cp_model.CpModel, dict[int, dict[int, Any]]]:
    model, problem = cp_model.CpModel(), room.problem
    taken = {
        i: {spot: model.new_bool_var(f"{item.id} on {spot}") for spot in sorted(item.points)}
        for i, item in enumerate(problem.items)
    }
    for on in taken.values():
        model.add_at_most_one(on.values())
    for i, on in taken.items():
        for j in range(i + 1, len(problem.items)):
            others = np.array(sorted(taken[j]), dtype=np.int64)
            if not len(others):
                continue
            spots = np.array(sorted(on), dtype=np.int64)
            close = room.clash(i, j)[np.ix_(spots, others)]
            for row in np.flatnonzero(close.any(axis=1)):
                beside = [taken[j][int(spot)] for spot in others[close[row]]]
                model.add_at_most_one([on[int(spots[row])], *beside])
    return model, taken


def _read(solver: cp_model.CpSolver, taken: Mapping[int, Mapping[int, Any]]) -> dict[int, int]:
    return {i: spot for i, on in taken.items() for spot, one in on.items() if solver.boolean_value(one)}


def _hint(model: cp_model.CpModel, taken: Mapping[int, Mapping[int, Any]], placed: Mapping[int, int]) -> None:
    model.clear_hints()  # type: ignore[no-untyped-call]
    for i, on in taken.items():
        for spot, one in on.items():
            model.add_hint(one, placed.get(i) == spot)


def _value(problem: SpotProblem, placed: Mapping[int, int], number: int) -> int:
    by_rank = ranks(problem)
    if number < len(by_rank):
        return sum(problem.items[i].rank == by_rank[number] for i in placed)
    return sum(problem.items[i].points[spot] for i, spot in placed.items())

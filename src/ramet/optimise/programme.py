"""The linear programme over known ways to fill boxes: how much of each, and what each row is worth then."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np
from ortools.linear_solver import pywraplp

from ramet.optimise.kernels import Flags
from ramet.optimise.sweep import Pattern, Way
from ramet.optimise.sweep_kernels import Floats

STARTS = 12
"""How many known ways are looked around for better ones."""


@dataclass(slots=True)
class Known:
    """The ways to fill a box that are known, by kind of box and the items they take.

    What was `refused` has no boards, as far as was tried.
    """

    ways: defaultdict[int, dict[Pattern, Way]] = field(default_factory=partial(defaultdict, dict))
    refused: set[tuple[int, Pattern]] = field(default_factory=set)

    def add(self, kind: int, way: Way) -> Pattern:
        """Add a way, unless it was refused; return its items."""
        pattern = items_of(way)
        if (kind, pattern) not in self.refused:
            self.ways[kind].setdefault(pattern, way)
        return pattern

    def part(self, kind: int, pattern: Pattern, inside: Pattern) -> Pattern:
        """Add a way without some of its items; return those left."""
        way = self.ways[kind].get(pattern)
        if way is not None and inside and inside != pattern:
            self.add(kind, tuple(option for option in way if option.item in inside))
        return inside

    def refuse(self, kind: int, pattern: Pattern) -> None:
        """Leave a way aside from now on."""
        self.ways[kind].pop(pattern, None)
        self.refused.add((kind, pattern))


@dataclass(frozen=True, slots=True)
class Liked:
    """A way to fill a box of a kind, and the share of such boxes that a linear programme fills so."""

    share: float
    kind: int
    pattern: Pattern


class Programme:
    """The linear programme over known ways to fill boxes; its prices are held near given ones.

    Items go as far as ways hold them: what `goes` is at most that, and `matrix` times it at most `limits`, or
    just that where `equal`. Only what is `able` goes. It carries `worth`. `boxes` are how many there are of
    each kind. Ways that were refused have their say on prices: what bounds a box does not know of boards.
    """

    def __init__(
        self,
        matrix: Floats,
        limits: Floats,
        equal: Flags,
        able: Flags,
        worth: Floats,
        boxes: Sequence[int],
        known: Known,
    ) -> None:
        self.able, self.known = able, known
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        endless = self.solver.infinity()
        self.goal = self.solver.Objective()
        self.goal.SetMaximization()
        self.held = [self.solver.Constraint(-endless, 0.0) for _ in worth]
        self.boxes = [self.solver.Constraint(-endless, float(many)) for many in boxes]
        self.goes = going(self.solver, matrix, limits, equal, able, worth)
        for row, one in zip(self.held, self.goes, strict=True):
            row.SetCoefficient(one, 1.0)
        self.over = [self._slack(row, -1.0) for row in self.held]
        self.under = [self._slack(row, 1.0) for row in self.held]
        self.columns: list[dict[Pattern, Any]] = [{} for _ in boxes]
        self.refused: dict[tuple[int, Pattern], Any] = {}
        self.inside: list[list[Floats]] = [[] for _ in boxes]
        self.shares = [0.0 for _ in boxes]
        self.is_held = False

    def _slack(self, row: Any, sign: float) -> Any:
        slack = self.solver.NumVar(0.0, self.solver.infinity(), "")
        row.SetCoefficient(slack, sign)
        return slack

    def take_in(self) -> None:
        """Add what others found, and note what was refused."""
        for k, ways in sorted(self.known.ways.items()):
            for pattern in ways:
                self.add(k, pattern)
        for k, pattern in sorted(self.known.refused):
            if pattern in self.columns[k]:
                self.refused[k, pattern] = self.columns[k][pattern]

    def add(self, kind: int, pattern: Pattern) -> bool:
        """Add a way to fill a box of a kind; False when it is known."""
        if pattern in self.columns[kind]:
            return False
        column = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.columns[kind][pattern] = column
        if (kind, pattern) in self.known.refused:
            self.refused[kind, pattern] = column
        self.inside[kind].append(goes_of(pattern, len(self.able)))
        for item in pattern:
            if self.able[item]:
                self.held[item].SetCoefficient(column, -1.0)
        self.boxes[kind].SetCoefficient(column, 1.0)
        return True

    def profits(self, kind: int, profit: Floats) -> Floats:
        """Return the profit of each known way, in the order of its columns."""
        if not self.inside[kind]:
            return np.zeros(0)
        found: Floats = np.array(self.inside[kind]) @ np.maximum(profit, 0.0)
        return found

    def most(self, kind: int, profit: Floats) -> float:
        """Return the most profit of the known ways."""
        return float(self.profits(kind, profit).max(initial=0.0))

    def best_known(self, kind: int, profit: Floats) -> list[Way]:
        """Return the known ways of most profit, best first."""
        known, patterns = self.known.ways[kind], list(self.columns[kind])
        order = np.argsort(-self.profits(kind, profit), kind="stable")
        best = [patterns[k] for k in order[: 2 * STARTS].tolist() if patterns[k] in known]
        return [known[pattern] for pattern in best[:STARTS]]

    def liked(self) -> tuple[Liked, ...]:
        """Return the ways that the last linear programme used, the largest share first."""
        found = [
            Liked(round(column.solution_value(), 6), kind, pattern)
            for kind, columns in enumerate(self.columns)
            for pattern, column in columns.items()
        ]
        return tuple(sorted((one for one in found if one.share > 1e-6), key=lambda one: -one.share))

    def taken(self) -> Floats:
        """Return how much of each item the last linear programme takes."""
        return np.array([one.solution_value() for one in self.goes])

    def solve(self, centre: Floats, near: float, *, refused: bool = True) -> Floats | None:
        """Return the prices of a place for each item, within `near` of the centre, by all ways.

        Or without those that were `refused`.
        """
        for column in self.refused.values():
            column.SetUb(self.solver.infinity() if refused else 0.0)
        for over, under, price in zip(self.over, self.under, centre, strict=True):
            self.goal.SetCoefficient(over, float(-(price + near)))
            self.goal.SetCoefficient(under, float(price - near))
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        self.shares = [max(0.0, row.dual_value()) for row in self.boxes]
        self.is_held = any(slack.solution_value() > 1e-7 for slack in (*self.over, *self.under))
        return np.array([max(0.0, row.dual_value()) for row in self.held])


class Apart:
    """What goes, and what it is worth, where every place has its price and no box has an end."""

    def __init__(self, matrix: Floats, limits: Floats, equal: Flags, able: Flags, worth: Floats) -> None:
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.worth = worth
        self.goal = self.solver.Objective()
        self.goal.SetMaximization()
        self.goes = going(self.solver, matrix, limits, equal, able, worth)

    def solve(self, prices: Floats) -> tuple[float, Floats] | None:
        """Return the most that goes is worth less its prices, and how much of each; None if nothing may."""
        for one, worth in zip(self.goes, self.worth - prices, strict=True):
            self.goal.SetCoefficient(one, float(worth))
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        return self.goal.Value(), np.array([one.solution_value() for one in self.goes])

    def without(self, item: int, prices: Floats) -> tuple[float, Floats] | None:
        """Return the same where an item does not go."""
        most = self.goes[item].ub()
        self.goes[item].SetUb(0.0)
        found = self.solve(prices)
        self.goes[item].SetUb(most)
        return found


def going(solver: Any, matrix: Floats, limits: Floats, equal: Flags, able: Flags, worth: Floats) -> list[Any]:
    """Add to a programme what goes of each item, at its worth, and the rows that bind it."""
    goes = [solver.NumVar(0.0, float(one), "") for one in able]
    for amounts, limit, tight in zip(matrix, limits, equal, strict=True):
        row = solver.Constraint(float(limit) if tight else -solver.infinity(), float(limit))
        weigh(row, goes, amounts)
    weigh(solver.Objective(), goes, worth)
    return goes


def weigh(row: Any, variables: Sequence[Any], amounts: Floats) -> None:
    """Give a row, or a goal, the amounts of variables."""
    for variable, amount in zip(variables, amounts, strict=True):
        if amount:
            row.SetCoefficient(variable, float(amount))


def items_of(way: Way) -> Pattern:
    """Return the items that a way takes."""
    return tuple(sorted(option.item for option in way))


def goes_of(pattern: Pattern, many: int) -> Floats:
    """Return 1 for each item of a pattern, 0 for the others."""
    goes = np.zeros(many)
    goes[list(pattern)] = 1.0
    return goes

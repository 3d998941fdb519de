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

    `matrix` times what goes is at most `limits`, or just that where `equal`; it carries `worth`. `boxes` are
    how many there are of each kind.
    """

    def __init__(
        self, matrix: Floats, limits: Floats, equal: Flags, worth: Floats, boxes: Sequence[int], known: Known
    ) -> None:
        self.matrix, self.limits, self.worth, self.known = matrix, limits, worth, known
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        endless = self.solver.infinity()
        self.rows = [
            self.solver.Constraint(float(limit) if tight else -endless, float(limit))
            for limit, tight in zip(limits, equal, strict=True)
        ]
        self.boxes = [self.solver.Constraint(-endless, float(many)) for many in boxes]
        self.goal = self.solver.Objective()
        self.goal.SetMaximization()
        self.over = [self._slack(row, 1.0) for row in self.rows]
        self.under = [self._slack(row, -1.0) for row in self.rows]
        self.columns: list[dict[Pattern, tuple[Floats, Any]]] = [{} for _ in boxes]
        self.shares = [0.0 for _ in boxes]
        self.is_held = False

    def _slack(self, row: Any, sign: float) -> Any:
        slack = self.solver.NumVar(0.0, self.solver.infinity(), "")
        row.SetCoefficient(slack, sign)
        return slack

    def take_in(self) -> None:
        """Add what others found, and leave out what was refused."""
        for k, ways in sorted(self.known.ways.items()):
            for pattern in ways:
                self.add(k, pattern)
        for k, pattern in self.known.refused:
            if pattern in self.columns[k]:
                self.columns[k][pattern][1].SetUb(0.0)

    def add(self, kind: int, pattern: Pattern) -> bool:
        """Add a way to fill a box of a kind; False when it is known, or can't be any more."""
        goes = goes_of(pattern, len(self.worth))
        amounts = self.matrix @ goes
        is_known = pattern in self.columns[kind] or (kind, pattern) in self.known.refused
        if is_known or (amounts > self.limits + 1e-9).any():
            return False
        column = self.solver.NumVar(0.0, self.solver.infinity(), "")
        self.columns[kind][pattern] = goes, column
        for row, amount in zip(self.rows, amounts, strict=True):
            if amount:
                row.SetCoefficient(column, float(amount))
        self.boxes[kind].SetCoefficient(column, 1.0)
        self.goal.SetCoefficient(column, float(self.worth @ goes))
        return True

    def most(self, kind: int, profit: Floats) -> float:
        """Return the most profit of the known ways."""
        return max((float(profit @ goes) for goes, _ in self.columns[kind].values()), default=0.0)

    def best_known(self, kind: int, profit: Floats) -> list[Way]:
        """Return the known ways of most profit, best first."""
        known = self.known.ways[kind]
        worth = {
            pattern: float(profit @ goes)
            for pattern, (goes, _) in self.columns[kind].items()
            if pattern in known
        }
        best = sorted(worth, key=lambda pattern: -worth[pattern])[:STARTS]
        return [known[pattern] for pattern in best]

    def liked(self) -> tuple[Liked, ...]:
        """Return the ways that the last linear programme used, the largest share first."""
        found = [
            Liked(round(column.solution_value(), 6), kind, pattern)
            for kind, columns in enumerate(self.columns)
            for pattern, (_, column) in columns.items()
        ]
        return tuple(sorted((one for one in found if one.share > 1e-6), key=lambda one: -one.share))

    def solve(self, centre: Floats, near: float) -> Floats | None:
        """Return the prices of the rows, within `near` of the centre."""
        for over, under, price in zip(self.over, self.under, centre, strict=True):
            self.goal.SetCoefficient(over, float(price - near))
            self.goal.SetCoefficient(under, float(-(price + near)))
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        self.shares = [max(0.0, row.dual_value()) for row in self.boxes]
        self.is_held = any(slack.solution_value() > 1e-7 for slack in (*self.over, *self.under))
        return np.array([row.dual_value() for row in self.rows])


def items_of(way: Way) -> Pattern:
    """Return the items that a way takes."""
    return tuple(sorted(option.item for option in way))


def goes_of(pattern: Pattern, many: int) -> Floats:
    """Return 1 for each item of a pattern, 0 for the others."""
    goes = np.zeros(many)
    goes[list(pattern)] = 1.0
    return goes

"""Straight cuts around all that planes hold, and the bound that they give before any search.

A plane's frontier lists the fullest sets of bags that fit. A choice in fractions (the linear relaxation) may
lie outside of every mixture of them; then some weights of the kinds of bags tell it apart: no set that fits
weighs more than 1, the choice does. Each such cut is true of every packing; a few rounds bring the relaxation
down to what planes can hold (cutting planes, Dantzig, Fulkerson & Johnson 1954, from memory).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from ramet.optimise.flats import FlatSet, all_levels
from ramet.optimise.floors import Flat, Plane, turned
from ramet.optimise.frontier import Frontier
from ramet.optimise.packing import covers
from ramet.optimise.selection import Expression, Selection, equal_boxes

MOST_ROUNDS = 40
LEAST_EXCESS = 1e-3
FINE = 1000
"""Weights are rounded down to this fraction, so that the cuts are exact in whole numbers."""
ROUND_S, USUAL_OPTIONS = 0.025, 700
"""The fixed price of a round with so many options, in deterministic seconds; more of them cost more."""


@dataclass(frozen=True, slots=True)
class HullCut:
    """On planes like this, bags of a flat set at this level weigh at most `whole` together."""

    plane: Plane
    level_mm: int
    kinds: tuple[Flat, ...]
    weights: tuple[int, ...]
    whole: int

    def weights_of(self, bags: Sequence[Flat]) -> list[int]:
        """Return what each of many bags of few sizes weighs."""
        known = {bag: self.weight(bag) for bag in set(bags)}
        return [known[bag] for bag in bags]

    def weight(self, bag: Flat) -> int:
        """Return what a bag weighs at least: as much as the heaviest kind whose room it covers."""
        return max(
            (w for kind, w in zip(self.kinds, self.weights, strict=True) if covers(bag, kind)), default=0
        )


def apply(s: Selection, cut: HullCut) -> None:
    """Give a model a cut, for each box that it speaks of."""
    for b in range(len(s.problem.bins)):
        flat = s.flat_at(b, cut.level_mm)
        if flat.plane == cut.plane and flat.members:
            weights = cut.weights_of(flat.flats)
            taken = [s.take[i] for i in flat.members]
            s.model.add(cp_model.LinearExpr.weighted_sum(taken, weights) <= cut.whole)


@dataclass(slots=True)
class Hull:
    """Finds weights that tell a mixture of bags apart from all that fits on one plane."""

    frontier: Frontier
    fullest: NDArray[np.int16] = field(init=False)
    solver: Any = field(init=False)
    weights: list[Any] = field(init=False)
    known: dict[Flat, int | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.fullest = self.frontier.fullest()
        kinds = self.frontier.kinds
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.weights = [self.solver.NumVar(0.0, 1.0, "") for _ in kinds]
        for a, wide in enumerate(kinds):
            for b, small in enumerate(kinds):
                if a != b and covers(wide, small):
                    self.solver.Add(self.weights[a] >= self.weights[b])
        for row in self.fullest:
            self.solver.Add(sum(int(n) * w for n, w in zip(row, self.weights, strict=True) if n) <= 1)

    def kind_of(self, bag: Flat) -> int | None:
        """Return the kind that a bag counts as at least: its own, or the largest whose room it covers."""
        bag = turned(bag)
        if bag not in self.known:
            kinds = self.frontier.kinds
            own = [k for k, kind in enumerate(kinds) if kind == bag]
            covered = own or [k for k, kind in enumerate(kinds) if covers(bag, kind)]
            self.known[bag] = covered[0] if covered else None
        return self.known[bag]

    def cut(self, counts: NDArray[np.float64], level_mm: int) -> HullCut | None:
        """Return a cut that these counts of the kinds break; None when they are a mixture of what fits."""
        goal = self.solver.Objective()
        for weight, count in zip(self.weights, counts, strict=True):
            goal.SetCoefficient(weight, float(count))
        goal.SetMaximization()
        self.solver.Solve()
        if goal.Value() <= 1 + LEAST_EXCESS:
            return None
        parts = [max(0, math.floor(weight.solution_value() * FINE + 1e-6)) for weight in self.weights]
        whole = int((self.fullest @ np.array(parts)).max())
        return HullCut(self.frontier.plane, level_mm, self.frontier.kinds, tuple(parts), whole)


def round_price_s(s: Selection) -> float:
    """Return what a round costs, in deterministic seconds."""
    return float(ROUND_S * max(0.2, len(s.options) / USUAL_OPTIONS) ** 1.5)


def tightened(
    s: Selection, expression: Expression, hulls: dict[Plane, Hull], go_on: Callable[[], bool]
) -> tuple[float, list[HullCut]]:
    """Return a bound on an expression to be maximised, and the cuts that give it (not yet in the model).

    `go_on` is asked before each round; bound and cuts hold whenever it ends.
    """
    relaxed = _Relaxation(s.model, expression)
    planes = _planes_alike(s, hulls)
    found: list[HullCut] = []
    for _ in range(MOST_ROUNDS):
        values = relaxed.solve() if go_on() else None
        if values is None:
            break
        before = len(found)
        for alike in planes:
            hull = hulls[alike[0].plane]
            cut = hull.cut(_counts(hull, alike, s, values), alike[0].level_mm)
            if cut is not None:
                found.append(cut)
                for flat in alike:
                    taken = [s.take[i].index for i in flat.members]
                    relaxed.add(taken, cut.weights_of(flat.flats), cut.whole)
        if len(found) == before:
            break
    return relaxed.bound, found


def _planes_alike(s: Selection, hulls: dict[Plane, Hull]) -> list[list[FlatSet]]:
    """Return the flat sets of each level, those of equal boxes together."""
    found = []
    bins = range(len(s.problem.bins))
    for b in bins:
        same = [other for other in bins if equal_boxes(s.problem, b, other)]
        here = [s.options[i] for i in (*s.low[b], *s.high[b])] if b == same[0] else []
        for level in sorted(all_levels(s.problem, here)) if here else ():
            alike = [s.flat_at(other, level) for other in same]
            if alike[0].members and alike[0].plane in hulls:
                found.append(alike)
    return found


def _counts(
    hull: Hull, alike: Sequence[FlatSet], s: Selection, values: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how many bags of each kind a set of equal boxes holds in the middle."""
    counts = np.zeros(len(hull.weights))
    for flat in alike:
        for i, bag in zip(flat.members, flat.flats, strict=True):
            kind = hull.kind_of(bag)
            if kind is not None:
                counts[kind] += values[s.take[i].index]
    return counts / len(alike)


class _Relaxation:
    """The linear part of a model, in fractions."""

    def __init__(self, model: cp_model.CpModel, expression: Expression) -> None:
        goal = model.clone()
        goal.maximize(expression)
        proto = goal.proto
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.variables = [
            self.solver.NumVar(float(v.domain[0]), float(v.domain[len(v.domain) - 1]), "")
            for v in proto.variables
        ]
        for constraint in proto.constraints:
            self._take_over(constraint)
        self.goal = self.solver.Objective()
        # The model keeps what is maximised as the negative of what it minimises.
        for index, factor in zip(proto.objective.vars, proto.objective.coeffs, strict=True):
            self.goal.SetCoefficient(self.variables[index], -float(factor))
        self.offset = -float(proto.objective.offset)
        self.goal.SetMaximization()
        self.bound = math.inf

    def solve(self) -> NDArray[np.float64] | None:
        """Return the best choice in fractions, and keep its value as the bound; None when there is none."""
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        self.bound = min(self.bound, self.goal.Value() + self.offset)
        return np.array([variable.solution_value() for variable in self.variables])

    def add(self, indices: Sequence[int], weights: Sequence[int], most: int) -> None:
        """Add a cut: these variables, times these weights, come to at most so much."""
        row = self.solver.Constraint(-self.solver.infinity(), float(most))
        for index, factor in zip(indices, weights, strict=True):
            row.SetCoefficient(self.variables[index], float(factor))

    def _take_over(self, constraint: Any) -> None:
        """Take a constraint over where it is linear: sums, implications, and at most one of several."""
        conditions = list(constraint.enforcement_literal)
        if constraint.has_linear() and not conditions:
            low, high = (
                constraint.linear.domain[0],
                constraint.linear.domain[len(constraint.linear.domain) - 1],
            )
            row = self.solver.Constraint(_open(low), _open(high))
            for index, factor in zip(constraint.linear.vars, constraint.linear.coeffs, strict=True):
                row.SetCoefficient(
                    self.variables[index], row.GetCoefficient(self.variables[index]) + float(factor)
                )
        elif constraint.has_bool_or():
            self._literals([*constraint.bool_or.literals, *(-c - 1 for c in conditions)], 1.0, math.inf)
        elif constraint.has_at_most_one() and not conditions:
            self._literals(list(constraint.at_most_one.literals), -math.inf, 1.0)

    def _literals(self, literals: Sequence[int], low: float, high: float) -> None:
        negative = sum(1 for literal in literals if literal < 0)
        row = self.solver.Constraint(low - negative, high - negative)
        for literal in literals:
            variable = self.variables[literal if literal >= 0 else -literal - 1]
            row.SetCoefficient(variable, row.GetCoefficient(variable) + (1.0 if literal >= 0 else -1.0))


def _open(bound: int) -> float:
    """Return a bound of a domain; the solver's own ends stand for none."""
    return math.copysign(math.inf, bound) if abs(bound) > 2**62 else float(bound)

"""A bound on what all boxes carry together, from the most that each box alone can carry at prices of items.

Whatever prices are put on the items, on their lines and on what is scarce, no packing is worth more than the
prices of all that there is, and the most profit in each box at these prices. The prices that say least are
looked for: first along slopes, then by a linear programme over ways to fill a box that are known so far,
which tells for which prices a better one is wanted (Dantzig & Wolfe 1960; with prices held near the best so
far, du Merle et al. 1999; both from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from ramet.optimise.flats import plane_of
from ramet.optimise.floors import Plane
from ramet.optimise.frontier import Frontier
from ramet.optimise.goals import GOALS, Packing, item_value, rank_of
from ramet.optimise.options import Option, holders, weight
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Problem
from ramet.optimise.selection import Selection, equal_boxes
from ramet.optimise.sweep import Pattern, Sweep
from ramet.optimise.sweep_kernels import Floats

SLOPES = 400
"""Steps along slopes before the first linear programme."""
LEAST_GAIN = 0.2
"""A way to fill a box that is worth less than this above the known ones is not looked for."""
NEAR = 0.1
"""How far prices may be from the best so far at first, as a share of what one item is worth at most."""
SMOOTH = 0.7
"""How much of the best prices so far is mixed into those that the linear programme asks for."""
WALK_S, MOST_WALK_S = 0.2, 3.0
"""Deterministic seconds for one box at first, and at most once nothing better is found."""
MASTER_S = 0.01
"""The fixed price of the linear programme, in deterministic seconds."""
FINE = 1000
"""Profits are rounded down to this fraction in cuts."""


@dataclass(frozen=True, slots=True)
class BoxKind:
    """Boxes that nothing tells apart, with the sweep of one of them."""

    bins: tuple[int, ...]
    sweep: Sweep


@dataclass(frozen=True, slots=True)
class BoxCut:
    """No box of these carries items of more than this profit."""

    bins: tuple[int, ...]
    profits: tuple[int, ...]
    most: int


def apply(s: Selection, cut: BoxCut) -> None:
    """Give a model a cut."""
    for b in cut.bins:
        here = [i for i in (*s.low[b], *s.high[b]) if cut.profits[s.options[i].item]]
        weights = [cut.profits[s.options[i].item] for i in here]
        s.model.add(cp_model.LinearExpr.weighted_sum([s.take[i] for i in here], weights) <= cut.most)


def box_kinds(
    problem: Problem, options: Sequence[Option], frontiers: dict[Plane, Frontier | None], table: PlaceTable
) -> tuple[BoxKind, ...]:
    """Return the kinds of boxes; none when one of them can't be swept."""
    found: list[BoxKind] = []
    bins = range(len(problem.bins))
    for b in bins:
        same = tuple(other for other in bins if equal_boxes(problem, b, other))
        frontier = frontiers.get(plane_of(problem.bins[b]))
        if b != same[0]:
            continue
        sweep = None if frontier is None else Sweep.of(problem, options, b, frontier, table)
        if sweep is None:
            return ()
        found.append(BoxKind(same, sweep))
    return tuple(found)


@dataclass(slots=True)
class Prices:
    """The search for the prices that say least about a goal; `bound` and `cuts` hold whenever it ends.

    Rows are what binds items over all boxes: `matrix` times what goes is at most `limits`, or just that where
    `equal`. `charge` books deterministic seconds.
    """

    problem: Problem
    kinds: tuple[BoxKind, ...]
    goal: str
    held: Sequence[int]
    charge: Callable[[float], None]
    worth: Floats = field(init=False)
    matrix: Floats = field(init=False)
    limits: Floats = field(init=False)
    equal: Any = field(init=False)
    best: Floats = field(init=False)
    bound: float = np.inf
    cuts: tuple[BoxCut, ...] = ()

    def __post_init__(self) -> None:
        rank = GOALS.index(self.goal)
        items = range(len(self.problem.items))
        ranks = [rank_of(self.problem, i) for i in items]
        values = np.array([item_value(self.problem, i) for i in items], dtype=np.float64)
        self.worth = np.where(np.array(ranks) == rank, values, 0.0)
        rows, limits = _rows(self.problem)
        earlier = [np.where(np.array(ranks) == r, values, 0.0) for r in range(rank)]
        self.matrix = np.array([*rows, *earlier])
        self.limits = np.array([*limits, *self.held[:rank]], dtype=np.float64)
        self.equal = np.arange(len(self.limits)) >= len(limits)
        self.best = np.where(self.equal, -1.5 * max(1.0, float(self.worth.max(initial=0.0))), 0.0)

    def descend(self, target: float, go_on: Callable[[], bool]) -> None:
        """Go down along slopes (subgradients with steps after Polyak 1969, from memory)."""
        prices, slope = self.best.copy(), np.zeros(len(self.limits))
        scale, stale = 1.0, 0
        for _ in range(SLOPES):
            if not go_on():
                return
            profit = self.worth - prices @ self.matrix
            bound, taken = float(prices @ self.limits), np.zeros(len(self.worth))
            for kind in self.kinds:
                most, counts, cost_s = kind.sweep.relaxed(profit)
                self.charge(cost_s)
                bound += len(kind.bins) * most
                taken += len(kind.bins) * counts
            if bound < self.bound - 1e-6:
                stale = 0 if bound < self.bound - 0.1 else stale + 1
                self.bound, self.best = bound, prices.copy()
            else:
                stale += 1
            if stale >= 10:
                scale, stale, prices, slope = 0.7 * scale, 0, self.best.copy(), np.zeros(len(self.limits))
                continue
            push = self.limits - self.matrix @ taken
            push[~self.equal & (prices <= 0) & (push > 0)] = 0.0
            slope = 0.6 * slope + 0.4 * push
            norm = float(slope @ slope)
            if norm < 1e-12:
                return
            prices = self._signed(prices - scale * max(bound - target, 0.1) / norm * slope)

    def generate(self, packing: Packing, go_on: Callable[[], bool]) -> None:
        """Ask for ways to fill a box until the bound is as low as prices can bring it, or time is up."""
        master = _Master(self)
        for k, kind in enumerate(self.kinds):
            for b in kind.bins:
                master.add(k, tuple(sorted(p.item for p in packing.placed if p.bin == b)))
        near, smooth, walk_s = NEAR * float(self.worth.max(initial=1.0)), SMOOTH, WALK_S
        while go_on():
            self.charge(MASTER_S)
            wanted = master.solve(self.best, near)
            if wanted is None:
                return
            prices = self._signed(smooth * self.best + (1 - smooth) * wanted)
            new, lower, decided = self._ask(master, prices, wanted, walk_s)
            if new or lower:
                smooth, walk_s = SMOOTH, WALK_S
            elif not decided and walk_s < MOST_WALK_S:
                walk_s *= 4
            elif smooth:
                smooth = 0.5 * smooth if smooth > 0.1 else 0.0
            elif master.is_held:
                near *= 2
            else:
                return

    def _ask(
        self, master: "_Master", prices: Floats, wanted: Floats, walk_s: float
    ) -> tuple[bool, bool, bool]:
        """Price each kind of box; tell whether a wanted way came, the bound fell, and all was decided."""
        profit = self.worth - prices @ self.matrix
        bound, new, decided = float(prices @ self.limits), False, True
        cuts = []
        for k, kind in enumerate(self.kinds):
            known = master.most(k, profit)
            priced = kind.sweep.most(profit, known + LEAST_GAIN, walk_s)
            self.charge(priced.cost_s)
            most = max(priced.bound, known)
            bound += len(kind.bins) * most
            decided = decided and most <= max(priced.profit, known + LEAST_GAIN) + 1e-6
            cuts.append(_cut(kind, profit, most))
            for pattern in priced.patterns:
                gain = float((self.worth - wanted @ self.matrix)[list(pattern)].sum())
                new = (master.add(k, pattern) and gain > master.shares[k] + 1e-6) or new
        lower = bound < self.bound - 1e-6
        if lower:
            self.bound, self.best, self.cuts = bound, prices, tuple(cuts)
        return new, lower, decided

    def _signed(self, prices: Floats) -> Floats:
        signed: Floats = np.where(self.equal, prices, np.maximum(prices, 0.0))
        return signed


def _cut(kind: BoxKind, profit: Floats, most: float) -> BoxCut:
    whole = np.floor(np.maximum(profit, 0.0) * FINE).astype(np.int64)
    return BoxCut(kind.bins, tuple(whole.tolist()), int(np.floor(most * FINE + 1e-3)))


def _rows(problem: Problem) -> tuple[list[Floats], list[int]]:
    """Return what binds items over all boxes: each goes once, its pieces, lines, and what is scarce."""
    many = len(problem.items)
    rows, limits = [*np.eye(many)], [1] * many
    for sharing in holders(problem).values():
        if len(sharing) > 1:
            rows.append(np.isin(np.arange(many), sharing).astype(np.float64))
            limits.append(1)
    for number, line in enumerate(problem.lines):
        weights = [weight(problem, i) * (item.line == number) for i, item in enumerate(problem.items)]
        rows.append(np.array(weights, dtype=np.float64))
        limits.append(line.wanted)
    for name in sorted(problem.capacities):
        rows.append(np.array([item.uses.get(name, 0) for item in problem.items], dtype=np.float64))
        limits.append(problem.capacities[name])
    return rows, limits


class _Master:
    """The linear programme over known ways to fill boxes; its prices are held near given ones."""

    def __init__(self, prices: Prices) -> None:
        self.prices = prices
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        endless = self.solver.infinity()
        self.rows = [
            self.solver.Constraint(float(limit) if equal else -endless, float(limit))
            for limit, equal in zip(prices.limits, prices.equal, strict=True)
        ]
        self.boxes = [self.solver.Constraint(-endless, float(len(kind.bins))) for kind in prices.kinds]
        self.goal = self.solver.Objective()
        self.goal.SetMaximization()
        self.over = [self._slack(row, 1.0) for row in self.rows]
        self.under = [self._slack(row, -1.0) for row in self.rows]
        self.known: list[dict[Pattern, Floats]] = [{} for _ in prices.kinds]
        self.shares = [0.0 for _ in prices.kinds]
        self.is_held = False

    def _slack(self, row: Any, sign: float) -> Any:
        slack = self.solver.NumVar(0.0, self.solver.infinity(), "")
        row.SetCoefficient(slack, sign)
        return slack

    def add(self, kind: int, pattern: Pattern) -> bool:
        """Add a way to fill a box of a kind; False when it is known."""
        if pattern in self.known[kind]:
            return False
        goes = np.zeros(len(self.prices.worth))
        goes[list(pattern)] = 1.0
        self.known[kind][pattern] = goes
        column = self.solver.NumVar(0.0, self.solver.infinity(), "")
        for row, amount in zip(self.rows, self.prices.matrix @ goes, strict=True):
            if amount:
                row.SetCoefficient(column, float(amount))
        self.boxes[kind].SetCoefficient(column, 1.0)
        self.goal.SetCoefficient(column, float(self.prices.worth @ goes))
        return True

    def most(self, kind: int, profit: Floats) -> float:
        """Return the most profit of the known ways."""
        return max((float(profit @ goes) for goes in self.known[kind].values()), default=0.0)

    def solve(self, centre: Floats, near: float) -> Floats | None:
        """Return the prices of the rows, within `near` of the centre."""
        for over, under, price in zip(self.over, self.under, centre, strict=True):
            self.goal.SetCoefficient(over, float(price - near))
            self.goal.SetCoefficient(under, float(-(price + near)))
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        self.shares = [max(0.0, row.dual_value()) for row in self.boxes]
        self.is_held = any(slack.solution_value() > 1e-7 for slack in (*self.over, *self.under))
        return self.prices._signed(np.array([row.dual_value() for row in self.rows]))

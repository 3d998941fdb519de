"""A bound on what all boxes carry together, from the most that each box alone can carry at prices of items.

Whatever prices are put on the items, on their lines and on what is scarce, no packing is worth more than the
prices of all that there is, and the most profit in each box at these prices. The prices that say least are
looked for: first along slopes, then by a linear programme over ways to fill a box that are known so far,
which tells for which prices a better one is wanted (Dantzig & Wolfe 1960; with prices held near the best so
far, du Merle et al. 1999; both from memory).
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

import numpy as np
from ortools.sat.python import cp_model

from ramet.optimise.box_trading import BoxTrader
from ramet.optimise.flats import plane_of
from ramet.optimise.floors import Plane
from ramet.optimise.frontier import Frontier
from ramet.optimise.goals import GOALS, item_value, rank_of
from ramet.optimise.kernels import Flags
from ramet.optimise.options import Option, holders, weight
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Problem
from ramet.optimise.programme import Apart, Known, Liked, Programme, goes_of, items_of
from ramet.optimise.selection import Selection, equal_boxes
from ramet.optimise.sweep import Pattern, Sweep, Way
from ramet.optimise.sweep_kernels import Floats

STALE = 25
"""Steps along slopes without gain before they get shorter."""
SLOPES = 1000
"""Steps along slopes before the first linear programme."""
LEAST_GAIN = 0.2
"""A way to fill a box that is worth less than this above the known ones is not looked for."""
QUICK_GAIN = 0.002
"""Trading looks for what is worth more than this above the known ways, as a share of one item at most."""
NEAR = 0.1
"""How far prices may be from the best so far at first, as a share of what one item is worth at most."""
FREE = 1000.0
"""So far, in the same share, that they are free."""
MOST_QUICK = 15
"""How often ways are looked for by trading alone, without a bound."""
SMOOTH = 0.7
"""How much of the best prices so far is mixed into those that the linear programme asks for."""
WALK_S, MOST_WALK_S = 0.3, 3.0
"""Deterministic seconds for one box at first, and at most once that decides too little."""
WITH_S = 0.1
"""Deterministic seconds to find a way for given items."""
PROGRAMME_S = 0.004
"""The fixed price of the linear programme, in deterministic seconds."""
FINE = 1000
"""Profits are rounded down to this fraction in cuts."""


@dataclass(frozen=True, slots=True)
class BoxKind:
    """Boxes that nothing tells apart, with the sweep of one of them."""

    bins: tuple[int, ...]
    sweep: Sweep
    trader: BoxTrader

    def ways_with(self, pattern: Pattern, charge: Callable[[float], None]) -> tuple[Way, ...]:
        """Return ways to fill a box with just these items, if one is found."""
        profit = np.full(self.sweep.items, -1.0)
        profit[list(pattern)] = 1.0
        priced = self.sweep.most(profit, len(pattern) - 0.5, WITH_S)
        traded, cost_s = self.trader.look(profit, priced.ways)
        charge(priced.cost_s + cost_s)
        return tuple(way for way in (*priced.ways, *traded) if items_of(way) == pattern)


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
        found.append(BoxKind(same, sweep, BoxTrader.of(problem, options, b, table)))
    return tuple(found)


@dataclass(slots=True)
class Prices:
    """The search for the prices of places that say least about a goal; `bound` and `cuts` always hold.

    What goes needs a place in a box: `matrix` times what goes is at most `limits`, or just that where
    `equal`. `kinds` has the boxes still to be filled, `gone` the items in the others: these count in `bound`,
    but not in cuts. `known` grows with the ways that are found; `liked` are those of the last linear
    programme, by the share that it gives them, `hoped` what they carry by these shares, `asked` its prices,
    `shares` the most profit of a way of each kind at these. `mosts` is the most profit in a box of each kind
    at the `best` prices, those of the bound; `alone` what one box carries at most with all others empty.
    `settled`: prices can do no more. `charge` books deterministic seconds.
    """

    problem: Problem
    kinds: tuple[BoxKind, ...]
    goal: str
    held: Sequence[int]
    charge: Callable[[float], None]
    gone: Pattern = ()
    known: Known = field(default_factory=Known)
    worth: Floats = field(init=False)
    matrix: Floats = field(init=False)
    limits: Floats = field(init=False)
    equal: Flags = field(init=False)
    able: Flags = field(init=False)
    carried: float = field(init=False)
    best: Floats = field(init=False)
    apart: Apart = field(init=False)
    bound: float = np.inf
    mosts: tuple[float, ...] = ()
    cuts: tuple[BoxCut, ...] = ()
    liked: tuple[Liked, ...] = ()
    alone: float = np.inf
    hoped: float = -np.inf
    asked: Floats = field(init=False)
    shares: tuple[float, ...] = ()
    settled: bool = False
    near: float = field(init=False)
    smooth: float = SMOOTH
    walk_s: float = WALK_S
    quick: int = 0
    asked_s: float = 0.0
    programme: Programme | None = None

    def __post_init__(self) -> None:
        rank = GOALS.index(self.goal)
        items = range(len(self.problem.items))
        ranks = np.array([rank_of(self.problem, i) for i in items])
        values = np.array([item_value(self.problem, i) for i in items], dtype=np.float64)
        self.worth = np.where(ranks == rank, values, 0.0)
        rows, limits = _rows(self.problem)
        earlier = [np.where(ranks == r, values, 0.0) for r in range(rank)]
        self.matrix = np.array([*rows, *earlier])
        self.limits = np.array([*limits, *self.held[:rank]], dtype=np.float64)
        self.equal = np.arange(len(self.limits)) >= len(limits)
        goes = goes_of(self.gone, len(items))
        self.limits -= self.matrix @ goes
        may = np.logical_and.reduce(self.matrix <= self.limits[:, None] + 1e-9, axis=0)
        self.able = may & (goes == 0.0)
        self.carried = float(self.worth @ goes)
        self.best = np.zeros(len(items))
        self.near = NEAR * float(self.worth.max(initial=1.0))
        self.apart = Apart(self.matrix, self.limits, self.equal, self.able, self.worth)

    def rest(self, kinds: tuple[BoxKind, ...], gone: Pattern, prices: Floats) -> "Prices":
        """Return the search for the prices of what is left once other boxes are filled."""
        rest = Prices(self.problem, kinds, self.goal, self.held, self.charge, gone, self.known)
        rest.best = np.where(rest.able, prices, 0.0)
        return rest

    def descend(self, target: float, go_on: Callable[[], bool]) -> None:
        """Go down along slopes (subgradients with steps after Polyak 1969, from memory).

        Here what binds items has prices, not each place: it takes few of these to say what many are worth.
        """
        matrix = np.array([*np.eye(len(self.worth)), *self.matrix])
        limits = np.concatenate([self.able.astype(np.float64), self.limits])
        equal = np.concatenate([np.zeros(len(self.worth), dtype=np.bool_), self.equal])
        much = 1.5 * max(1.0, float(self.worth.max(initial=0.0)))
        prices = np.where(equal, -much, 0.0)
        best, slope, low = prices, np.zeros(len(prices)), np.inf
        scale, stale = 1.0, 0
        for _ in range(SLOPES):
            if not go_on():
                return
            places = self._signed(self.worth - prices @ matrix)
            bound, taken, mosts = self.carried + float(prices @ limits), np.zeros(len(places)), []
            for kind in self.kinds:
                most, counts, cost_s = kind.sweep.relaxed(self.profit(places))
                self.charge(cost_s)
                mosts.append(most)
                bound += len(kind.bins) * most
                taken += len(kind.bins) * counts
            stale = 0 if bound < low - 0.1 else stale + 1
            if bound < low - 1e-6:
                low, best = bound, prices
            if bound < self.bound - 1e-6:
                self.bound, self.best, self.mosts = bound, places, tuple(mosts)
            if stale >= STALE:
                scale, stale, prices, slope = 0.7 * scale, 0, best, np.zeros(len(prices))
                continue
            push = limits - matrix @ taken
            push[~equal & (prices <= 0) & (push > 0)] = 0.0
            slope = 0.6 * slope + 0.4 * push
            norm = float(slope @ slope)
            if norm < 1e-12:
                return
            prices = prices - scale * max(bound - target, 0.1) / norm * slope
            prices = np.where(equal, prices, np.maximum(prices, 0.0))

    def profit(self, prices: Floats) -> Floats:
        """Return what each item brings a box at these prices; less than nothing where it can't go."""
        profit: Floats = np.where(self.able, prices, -1.0)
        return profit

    def look(self, go_on: Callable[[], bool]) -> None:
        """Ask for ways to fill a box by trading alone, until none is wanted: quick, and without a bound."""
        programme, near = self._taken_in(), NEAR * float(self.worth.max(initial=1.0))
        while go_on():
            wanted = self._wanted(programme, near)
            if wanted is None:
                return
            if self._trade(programme, wanted):
                continue
            if not programme.is_held:
                break
            near *= 2
        self._hope(programme)

    def generate(self, go_on: Callable[[], bool]) -> None:
        """Ask for ways to fill a box until the bound is as low as prices can bring it, or time is up."""
        programme = self._taken_in()
        self._generate(programme, go_on)
        self._hope(programme)

    def hope(self) -> None:
        """Note what the linear programme makes of the ways that are known by now."""
        self.charge(PROGRAMME_S)
        self._hope(self._taken_in())

    def _taken_in(self) -> Programme:
        if self.programme is None:
            self.programme = Programme(
                self.matrix,
                self.limits,
                self.equal,
                self.able,
                self.worth,
                [len(kind.bins) for kind in self.kinds],
                self.known,
            )
        self.programme.take_in()
        return self.programme

    def _wanted(self, programme: Programme, near: float) -> Floats | None:
        """Return the prices that the linear programme asks for; None when it has none."""
        self.charge(PROGRAMME_S)
        wanted = programme.solve(self.best, near)
        return None if wanted is None else self._signed(wanted)

    def _hope(self, programme: Programme) -> None:
        free = FREE * max(1.0, float(self.worth.max(initial=1.0)))
        asked = programme.solve(self.best, free, refused=False)
        if asked is None:
            return
        self.asked, self.shares = self._signed(asked), tuple(programme.shares)
        self.hoped = self.carried + programme.goal.Value()
        taken = programme.taken()
        within = dict.fromkeys(self._within(one, taken) for one in programme.liked())
        self.liked = tuple(one for one in within if one.pattern)

    def _within(self, one: Liked, taken: Floats) -> Liked:
        """Return a liked way without what can't go, or is not taken."""
        left = self.limits.copy()
        inside = []
        for item in sorted(one.pattern, key=lambda item: -taken[item]):
            if self.able[item] and taken[item] > 1e-6 and (self.matrix[:, item] <= left + 1e-9).all():
                inside.append(item)
                left -= self.matrix[:, item]
        return replace(one, pattern=self.known.part(one.kind, one.pattern, tuple(sorted(inside))))

    def _generate(self, programme: Programme, go_on: Callable[[], bool]) -> None:
        while go_on():
            wanted = self._wanted(programme, self.near)
            if wanted is None:
                return
            prices = self._signed(self.smooth * self.best + (1 - self.smooth) * wanted)
            if self.quick < MOST_QUICK and self._trade(programme, wanted):
                self.quick += 1
                continue
            self.quick = 0
            new, lower, decided = self._ask(programme, prices, wanted, self.walk_s)
            if new:
                self.smooth = SMOOTH
            elif lower:
                self.smooth *= 0.5
            elif not decided and self.walk_s < MOST_WALK_S:
                self.walk_s *= 2
            elif self.smooth:
                self.smooth = 0.5 * self.smooth if self.smooth > 0.1 else 0.0
            elif programme.is_held:
                self.near *= 2
            else:
                self.settled = True
                return

    def _trade(self, programme: Programme, wanted: Floats) -> bool:
        """Look for wanted ways by trading; tell whether one came."""
        profit, new = self.profit(wanted), False
        least_gain = QUICK_GAIN * float(self.worth.max(initial=1.0))
        for k, kind in enumerate(self.kinds):
            ways, cost_s = kind.trader.look(profit, programme.best_known(k, profit))
            self.charge(cost_s)
            new = self._add(programme, k, ways, profit, least_gain) or new
        return new

    def _add(
        self, programme: Programme, kind: int, ways: Sequence[Way], profit: Floats, least_gain: float
    ) -> bool:
        """Add ways; tell whether one is wanted at these profits."""
        new = False
        for way in ways:
            pattern = self.known.add(kind, way)
            gain = float(np.maximum(profit[list(pattern)], 0.0).sum())
            new = (programme.add(kind, pattern) and gain > programme.shares[kind] + least_gain) or new
        return new

    def _ask(
        self, programme: Programme, prices: Floats, wanted: Floats, walk_s: float
    ) -> tuple[bool, bool, bool]:
        """Price each kind of box; tell whether a wanted way came, the bound fell, and all was decided."""
        free = self.apart.solve(prices)
        if free is None:
            return False, False, True
        profit, gains = self.profit(prices), self.profit(wanted)
        bound, new, decided = self.carried + free[0], False, True
        cuts, mosts = [], []
        for k, kind in enumerate(self.kinds):
            known = programme.most(k, profit)
            starts = programme.best_known(k, gains)
            with ThreadPoolExecutor(1) as pool:
                aside = pool.submit(kind.trader.look_aside, gains, starts, self.asked_s)
                priced = kind.sweep.most(profit, known + LEAST_GAIN, walk_s)
                found = aside.result()
            self.charge(priced.cost_s)
            self.asked_s = priced.cost_s
            most = max(priced.bound, known)
            mosts.append(most)
            bound += len(kind.bins) * most
            decided = decided and most <= max(priced.profit, known + LEAST_GAIN) + 1e-6
            cuts.append(_cut(kind, profit, most))
            new = self._add(programme, k, priced.ways, gains, 1e-6) or new
            new = self._add(programme, k, found, gains, LEAST_GAIN) or new
        alone = self._alone(free[0], profit)
        if alone > self.held[GOALS.index(self.goal)]:
            bound, cuts = max(bound, alone), []
        lower = bound < self.bound - 1e-6
        if lower:
            self.alone = alone
            self.bound, self.best, self.cuts, self.mosts = bound, prices, tuple(cuts), tuple(mosts)
        return new, lower, decided

    def _alone(self, free: float, profit: Floats) -> float:
        """Return a bound on what one box carries if all others stay empty: then nothing has to be spread."""
        most = 0.0
        for kind in self.kinds:
            worth, _, cost_s = kind.sweep.relaxed(profit)
            self.charge(cost_s)
            most = max(most, worth)
        return self.carried + free + most

    def _signed(self, prices: Floats) -> Floats:
        signed: Floats = np.where(self.able, np.maximum(prices, 0.0), 0.0)
        return signed


def _cut(kind: BoxKind, profit: Floats, most: float) -> BoxCut:
    whole = np.floor(np.maximum(profit, 0.0) * FINE).astype(np.int64)
    return BoxCut(kind.bins, tuple(whole.tolist()), int(np.floor(most * FINE + 1e-3)))


def _rows(problem: Problem) -> tuple[list[Floats], list[int]]:
    """Return what binds items over all boxes: each goes once, its pieces, lines, and what is scarce."""
    many = len(problem.items)
    rows: list[Floats] = []
    limits: list[int] = []
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

"""Finds packings at prices, and proves what is best: by known ways together, by filling boxes one after
another, and by all ways that could do better.

Ways to fill a box that are good at right prices go together as those of a packing found by small steps
hardly ever do. Box by box, what the linear programme likes best goes into one of them for good, and prices
are found anew for the others; where a first choice turns out wrong, the next one is tried: the fewest
departures from what is liked best first (Harvey & Ginsberg 1995, from memory).
"""

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain, permutations

import numpy as np

from ramet.optimise.closing import close
from ramet.optimise.columns import BoxKind, Prices
from ramet.optimise.goals import GOALS, Packing, values
from ramet.optimise.programme import Liked
from ramet.optimise.solving import Account
from ramet.optimise.spread import keeps_spread, spread_needed
from ramet.optimise.stacking import Filled
from ramet.optimise.sweep import Pattern, Way
from ramet.optimise.sweep_kernels import Floats
from ramet.optimise.together import Together, best_together

MOST_TRIED = 8
"""How many ways are tried for one box."""
TURNS = 10
"""The time is given in so many turns to the bound, then to packings."""
BOUND_SHARE = 0.2
"""The share of the time that the bound gets first, unless it comes near what known ways carry in shares."""
NEAR = 1.5
"""How near that is."""
CLOSE_SHARE = 0.4
"""The share of what is left of the time that one step towards a proof may take."""
EASIER = 0.9
"""What took too long is tried again once it is less than this part of what it was."""
DEEPER = 1.6
"""How many times further the next step towards a proof goes."""
STILL = 3
"""Turns in which nothing is found before the search gives up where prices can do no more."""
CLEARLY = 0.05
"""A bound that is so much lower than before makes steps short again."""
MOST_TOGETHER = 40
"""How many choices of known ways are tried at once."""
ASSEMBLE_S = 0.01
"""The fixed price of filling the boxes of one, in deterministic seconds."""
NODE_S = 0.3
"""Deterministic seconds for the prices of what is left once a box is filled, for each box left."""

Hold = Callable[[Way], Filled | None]


@dataclass(order=True, slots=True)
class _Step:
    """Some boxes filled, others `left`; `turns` counts the departures from what was liked best."""

    turns: int
    left: int
    number: int
    settled: tuple[Liked, ...] = field(compare=False)
    prices: Floats = field(compare=False)


@dataclass(slots=True)
class Filling:
    """The search for a goal at prices: `root` bounds it, and box by box packings are found from there.

    `hold` fills a box, or not: then that way is left aside. Nothing carries more than what is `proven`; what
    carries a `step` less is looked for next, where ways do not lose more than `hard`: these are too many.
    `closed_at` is the bound that prices gave then. Asked again it goes on where it was.
    """

    root: Prices
    hold: Hold
    account: Account
    worth: int
    steps: list[_Step] = field(default_factory=list)
    seen: set[tuple[tuple[int, Pattern], ...]] = field(default_factory=set)
    made: int = 0
    found: Packing | None = None
    proven: float = np.inf
    hard: float = np.inf
    step: float = 1.0
    closed_at: float = np.inf

    @property
    def is_open(self) -> bool:
        """Whether the bound is a whole number above what is carried."""
        return self._beats(self.bound)

    @property
    def bound(self) -> float:
        """What no packing is above."""
        return min(self.root.bound, self.proven)

    @property
    def once_s(self) -> float:
        """Deterministic seconds to fill all boxes once, at most."""
        boxes = sum(len(kind.bins) for kind in self.root.kinds)
        return NODE_S * boxes * (boxes - 1) / 2

    @property
    def is_near(self) -> bool:
        """Whether the bound is near what the known ways carry in shares, or as low as prices can bring it."""
        return self.root.settled or self.root.bound - self.root.hoped < NEAR

    def run(
        self,
        stop_at_s: float,
        go_on: Callable[[], bool],
        on_packing: Callable[[Packing], None],
        trade: Callable[[float], None],
    ) -> None:
        """Lower the bound and look for packings, in turns; where boxes are many by trading, some seconds."""
        slice_s = (stop_at_s - self.account.spent_s) / TURNS
        bound_until = self.account.spent_s + BOUND_SHARE * (stop_at_s - self.account.spent_s)
        slices, many, still = 1, self.once_s > 2 * slice_s, 0

        def for_a_while(slices: int) -> Callable[[], bool]:
            until = min(stop_at_s, self.account.spent_s + slices * slice_s)
            return lambda: go_on() and self.is_open and self.account.spent_s < until

        while go_on() and self.is_open and self.account.spent_s < stop_at_s:
            self.lower(for_a_while(slices))
            worth, before = self.worth, self._standing
            if not many:
                self.put_together(on_packing)
            if self.is_near:
                self.close(stop_at_s, go_on, on_packing)
            elif self.account.spent_s < bound_until:
                continue
            if many:
                trade(slice_s)
            elif self._beats(self.root.hoped):
                self.fill(for_a_while(1), on_packing)
            else:
                self.root.look(for_a_while(1))
                self.put_together(on_packing)
            slices = 1 if self.worth > worth else 2
            still = still + 1 if self._standing == before else 0
            if self.root.settled and (not self.steps or still == STILL):
                return

    @property
    def _standing(self) -> tuple[float, ...]:
        """What changes while there is something to be found."""
        known = sum(map(len, self.root.known.ways.values()))
        return self.worth, self.bound, self.made, len(self.steps), known

    def lower(self, go_on: Callable[[], bool]) -> None:
        """Lower the bound for a while."""
        if not np.isfinite(self.root.bound):
            self.root.descend(self.worth, go_on)
            self.root.look(go_on)
        if not self.root.settled:
            self.root.generate(go_on)
        self._push(0, (), self.root.liked, self.root.best)

    def fill(self, go_on: Callable[[], bool], on_packing: Callable[[Packing], None]) -> None:
        """Fill box after box, for a while."""
        while self.steps and go_on():
            self._go_down(heapq.heappop(self.steps), go_on)
            self._tell(on_packing)
            self.put_together(on_packing)

    def put_together(self, on_packing: Callable[[Packing], None]) -> None:
        """Look for the best that known ways carry together."""
        self.root.hope()
        banned: list[int] = []
        while len(banned) < MOST_TOGETHER and self._beats(self.root.hoped):
            found = best_together(self.root, self.worth + 1, banned)
            if found is None:
                return
            banned.append(found.mark)
            self._assemble(found)
            self._tell(on_packing)

    def close(
        self, stop_at_s: float, go_on: Callable[[], bool], on_packing: Callable[[Packing], None]
    ) -> None:
        """Prove that just below the bound nothing carries as much, or find what does; then further below."""
        while self.is_open:
            if self.root.bound < self.closed_at - CLEARLY:
                self.closed_at, self.step = self.root.bound, 1.0
            worth = max(self.worth, math.floor(self.bound - self.step))
            if self.root.bound - worth > self.hard:
                return
            limit_s = CLOSE_SHARE * (stop_at_s - self.account.spent_s)
            closed = close(self.root, worth, limit_s, go_on, self.worth)
            if closed is None:
                self.hard = EASIER * (self.root.bound - worth)
                return
            self.proven = min(self.proven, max(float(closed.value), self.root.alone))
            self.step *= DEEPER
            settled = [one for one in (self._known(*way) for way in closed.ways) if one is not None]
            if settled and len(settled) == len(closed.ways):
                self._offer(settled)
                self._tell(on_packing)
            if worth <= self.worth < closed.value:
                self.hard = 0.0  # what carries as much has no boards, as far as was tried
            if self.hard == 0.0 or closed.value == worth == self.worth:
                return  # no more can be said of several boxes

    def _tell(self, on_packing: Callable[[Packing], None]) -> None:
        if self.found is not None:
            on_packing(self.found)
            self.found = None

    def _known(self, kind: int, pattern: Pattern) -> Liked | None:
        """Return a way to fill a box with these items, sought if need be."""
        if pattern not in self.root.known.ways[kind]:
            for way in self.root.kinds[kind].ways_with(pattern, self.root.charge):
                self.root.known.add(kind, way)
        one = Liked(1.0, kind, pattern)
        return one if self._held(one, self.root.kinds[kind].bins[0]) is not None else None

    def _assemble(self, found: Together) -> None:
        """Offer what was found together, each item in one of the boxes that may hold it."""
        self.account.charge(ASSEMBLE_S)
        for turn in permutations(found.ways):
            left, settled = set(found.items), []
            for kind, pattern in turn:
                here = self.root.known.part(kind, pattern, tuple(item for item in pattern if item in left))
                left.difference_update(here)
                settled += [Liked(1.0, kind, here)] if here else []
            if all(self._held(one, b) for one, b in self._boxes(settled)):
                self._offer(settled)
                return
        for kind, pattern in found.ways:
            if self._held(Liked(1.0, kind, pattern), self.root.kinds[kind].bins[0]) is None:
                self.root.known.refuse(kind, pattern)

    def _go_down(self, step: _Step, go_on: Callable[[], bool]) -> None:
        self._offer(step.settled)
        gone = tuple(sorted(chain.from_iterable(one.pattern for one in step.settled)))
        rest = self.root.rest(self._open(step.settled), gone, step.prices)
        until = self.account.spent_s + NODE_S * step.left
        rest.look(lambda: go_on() and self.account.spent_s < until)
        if step.left == 1 and not self._beats(rest.hoped):
            rest.generate(lambda: go_on() and self._beats(rest.bound) and self.account.spent_s < until)
        if step.left > 1:
            self._push(step.turns, step.settled, rest.liked, rest.best)
            return
        for last in self._holding(rest.liked, step.settled):
            self._offer((*step.settled, last))

    def _beats(self, worth: float) -> bool:
        """Tell whether what may be carried is a whole number more than what is."""
        return worth > self.worth + 1 - 1e-6

    def _push(self, turns: int, settled: tuple[Liked, ...], liked: Sequence[Liked], prices: Floats) -> None:
        boxes = sum(len(kind.bins) for kind in self.root.kinds)
        for turn, one in enumerate(self._holding(liked, settled)):
            every = (*settled, one)
            mark = tuple(sorted((each.kind, each.pattern) for each in every))
            if mark in self.seen:
                continue
            self.seen.add(mark)
            self.made += 1
            heapq.heappush(self.steps, _Step(turns + turn, boxes - len(every), self.made, every, prices))

    def _holding(self, liked: Sequence[Liked], settled: Sequence[Liked]) -> list[Liked]:
        """Return the best liked ways that hold in the next box of their kind."""
        found: list[Liked] = []
        for one in liked:
            if len(found) == MOST_TRIED:
                break
            if self._held(one, self._boxes((*settled, one))[-1][1]) is None:
                self.root.known.refuse(one.kind, one.pattern)
            else:
                found.append(one)
        return found

    def _open(self, settled: Sequence[Liked]) -> tuple[BoxKind, ...]:
        used = [sum(one.kind == k for one in settled) for k in range(len(self.root.kinds))]
        return tuple(
            replace(kind, bins=kind.bins[count:]) for kind, count in zip(self.root.kinds, used, strict=True)
        )

    def _boxes(self, settled: Sequence[Liked]) -> list[tuple[Liked, int]]:
        """Return the box that each way goes into."""
        left = [list(kind.bins) for kind in self.root.kinds]
        return [(one, left[one.kind].pop(0)) for one in settled]

    def _held(self, one: Liked, b: int) -> Filled | None:
        way = self.root.known.ways[one.kind].get(one.pattern)
        return None if way is None else self.hold(tuple(replace(option, bin=b) for option in way))

    def _offer(self, settled: Sequence[Liked]) -> None:
        problem, packing = self.root.problem, self._packing(settled)
        rank = GOALS.index(self.root.goal)
        found = values(problem, packing)
        kept = keeps_spread(problem, spread_needed(problem), packing)
        if kept and found[:rank] == tuple(self.root.held[:rank]) and found[rank] > self.worth:
            self.worth, self.found = found[rank], packing

    def _packing(self, settled: Sequence[Liked]) -> Packing:
        filled = [self._held(one, b) for one, b in self._boxes(settled)]
        whole = [box for box in filled if box is not None]
        placed = sorted(chain.from_iterable(box.placed for box in whole), key=lambda p: p.item)
        return Packing(tuple(placed), tuple(board for box in whole for board in box.boards))

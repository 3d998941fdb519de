"""Fills boxes one after another at prices: what the linear programme likes best goes into one of them for
good, prices are found anew for the others.

Ways to fill a box that are good at right prices go together as those of a packing found by small steps
hardly ever do. Where a first choice turns out wrong, the next one is tried: the fewest departures from what
is liked best first (Harvey & Ginsberg 1995, from memory).
"""

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain

import numpy as np

from ramet.optimise.columns import BoxKind, Prices
from ramet.optimise.goals import GOALS, Packing, values
from ramet.optimise.programme import Liked
from ramet.optimise.solving import Account
from ramet.optimise.spread import keeps_spread, spread_needed
from ramet.optimise.stacking import Filled
from ramet.optimise.sweep import Pattern, Way
from ramet.optimise.sweep_kernels import Floats

MOST_TRIED = 8
"""How many ways are tried for one box."""
NODE_S = 0.5
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

    `hold` fills a box, or not: then that way is left aside. Asked again it goes on where it was.
    """

    root: Prices
    hold: Hold
    account: Account
    worth: int
    steps: list[_Step] = field(default_factory=list)
    seen: set[tuple[tuple[int, Pattern], ...]] = field(default_factory=set)
    made: int = 0
    found: Packing | None = None

    @property
    def is_open(self) -> bool:
        """Whether the bound is a whole number above what is carried."""
        return self._beats(self.root.bound)

    @property
    def is_done(self) -> bool:
        """Whether prices can do no more, and nothing is left to be tried."""
        return self.root.settled and not self.steps and not self.is_hopeful

    @property
    def once_s(self) -> float:
        """Deterministic seconds to fill all boxes once, at most."""
        boxes = sum(len(kind.bins) for kind in self.root.kinds)
        return NODE_S * boxes * (boxes - 1) / 2

    @property
    def is_hopeful(self) -> bool:
        """Whether the ways that are known carry more in shares."""
        return self._beats(self.root.hoped)

    def lower(self, go_on: Callable[[], bool]) -> None:
        """Lower the bound for a while."""
        if not np.isfinite(self.root.bound):
            self.root.descend(self.worth, go_on)
        self.root.generate(go_on)
        self._push(0, (), self.root.liked, self.root.best)

    def fill(self, go_on: Callable[[], bool], on_packing: Callable[[Packing], None]) -> None:
        """Look for packings that carry more, for a while."""
        while self.steps and go_on():
            self._go_down(heapq.heappop(self.steps), go_on)
            if self.found is not None:
                on_packing(self.found)
                self.found = None

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

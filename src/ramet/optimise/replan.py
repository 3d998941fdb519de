"""Something changed on the packing bench: a piece is withdrawn, another comes in. Least change wins.

What is packed stays where it is. Musts and wants come first, then the fewest changes to what was planned,
then fillers. Small ruins and quick repairs around the gap answer in a fraction of a second, without a bound.
"""

import contextlib
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from ramet.optimise.draft import Boards
from ramet.optimise.goals import GOALS, Packing, boards_of, ceiling, plain_bound, rank_key, values
from ramet.optimise.greedy import by_item_sorted, order_of
from ramet.optimise.layouts import Layouts
from ramet.optimise.options import Option, options
from ramet.optimise.problem import Board, GoalValue, Placed, Problem, Result
from ramet.optimise.spread import Spread, keeps_spread, spread_needed
from ramet.optimise.standing import contradictions, put_up

ROUNDS = 240
MOST_FREED = 4
NEW_LAYOUT_SHARE = 0.3
DROPPED, REBAGGED, MOVED = 8, 3, 1
"""What a change costs: a planned bag stays behind, is made anew or goes to another box, or only shifts."""

Status = Literal["ok", "short", "impossible"]
Key = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """What is different now. Numbers are positions in `Problem.items`.

    `packed` bags stand sealed in their places (one above a withdrawn bag must be taken out again);
    `withdrawn` items can go no more; `brought_in` items must go if they can (a swap names one of each).
    """

    packed: frozenset[int] = frozenset()
    withdrawn: frozenset[int] = frozenset()
    brought_in: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Replanned:
    """The new packing and how it differs from the one before.

    `status`: "ok"; "short" when a must or a brought-in item stays behind that went or was asked for; or
    "impossible" when the packed bags contradict each other, and then `result` is what stood before.
    """

    status: Status
    result: Result
    reasons: tuple[str, ...] = ()
    kept: tuple[int, ...] = ()
    moved: tuple[int, ...] = ()
    rebagged: tuple[int, ...] = ()
    dropped: tuple[int, ...] = ()
    added: tuple[int, ...] = ()


def replan(
    problem: Problem,
    before: Packing,
    change: Change,
    seed: int = 0,
    should_stop: Callable[[], bool] = lambda: False,
    rounds: int = ROUNDS,
) -> Replanned:
    """Return the packing nearest to `before` that the change allows; the same for the same seed."""
    wrong = contradictions(problem, before, change.packed, change.withdrawn | change.brought_in)
    if wrong:
        return Replanned("impossible", Result(before.placed, before.boards, (), False), wrong)
    search = _Search(problem, before, change, random.Random(seed))
    with contextlib.suppress(KeyboardInterrupt):
        search.run(should_stop, rounds)
    return search.answer()


@dataclass(slots=True)
class _Search:
    problem: Problem
    before: Packing
    change: Change
    dice: random.Random
    ways: dict[int, list[Option]] = field(init=False)
    first: dict[int, Placed] = field(init=False)
    layouts: list[Layouts] = field(init=False)
    open_boxes: list[int] = field(init=False)
    spread: Spread = field(init=False)
    packed: frozenset[int] = field(init=False)
    lifted: tuple[int, ...] = field(init=False)
    best: Packing = field(default_factory=Packing)
    best_key: Key = ()

    def __post_init__(self) -> None:
        usable = [o for o in options(self.problem) if o.item not in self.change.withdrawn]
        self.ways = by_item_sorted(usable)
        self.first = {p.item: p for p in self.before.placed}
        bins = range(len(self.problem.bins))
        self.layouts = [Layouts.of(self.problem, b, usable) for b in bins]
        rest = [i for i in self.first if i not in self.change.withdrawn]
        fallen = put_up(self.problem, self.before, rest).fallen
        self.lifted = tuple(sorted(self.change.packed.intersection(fallen)))
        self.packed = self.change.packed.difference(fallen)
        closed = {self.first[i].bin for i in self.packed}
        self.open_boxes = [b for b in bins if b not in closed and self.layouts[b].levels]
        self.spread = spread_needed(self.problem)

    def run(self, should_stop: Callable[[], bool], rounds: int) -> None:
        """Fill the gap with everything else in place, then free a few bags too; at last undo what can be."""
        self._fill(should_stop, rounds)
        self._put_back()

    def _fill(self, should_stop: Callable[[], bool], rounds: int) -> None:
        standing = boards_of(self.before)
        self._offer(self._repaired(self.before, frozenset(), standing))
        for turn in range(rounds):
            if self._nothing_more() or (turn % 8 == 0 and should_stop()):
                return
            here = self.best if turn % 3 else self.before
            boards: dict[int, Sequence[Board]] = {**boards_of(here)}
            for b in self.open_boxes:
                if self.dice.random() < NEW_LAYOUT_SHARE:
                    boards[b] = self.layouts[b].draw(self.dice)
            self._offer(self._repaired(here, self._freed(here), boards))

    def _put_back(self) -> None:
        """Put bags that a lucky round moved for nothing back in their old places: by box, then one by one."""
        stay = {i: was for i, was in self.first.items() if i not in self.change.withdrawn}
        for b in sorted({was.bin for was in stay.values()}):
            self._offer(self._with_old(b, {i: was for i, was in stay.items() if was.bin == b}))
        for i, was in stay.items():
            self._offer(self._with_old(None, {i: was}))

    def _with_old(self, b: int | None, old: Mapping[int, Placed]) -> Packing | None:
        """Return the best with these bags where they were, and the boards of a box as they were."""
        now = {p.item: p for p in self.best.placed}
        if all(now.get(i) == was for i, was in old.items()):
            return None
        boards = [board for board in self.best.boards if board.bin != b]
        boards += [board for board in self.before.boards if board.bin == b]
        back = Packing(tuple({**now, **old}.values()), tuple(boards))
        up = put_up(self.problem, back, [p.item for p in back.placed])
        return None if up.fallen else up.draft.packing()

    def answer(self) -> Replanned:
        """Return the best with what it changes."""
        now = {p.item: p for p in self.best.placed}
        planned = [i for i in self.first if i not in self.change.withdrawn]
        change = {i: _change(self.first[i], now.get(i)) for i in planned}
        missing = sorted(self.change.brought_in - now.keys())
        dropped = tuple(sorted(i for i in planned if change[i] == DROPPED))
        musts = [i for i in dropped if self.problem.lines[self.problem.items[i].line].rank == 0]
        reasons = [f"no room was found for {self.problem.items[i].id}" for i in missing]
        reasons += [f"{self.problem.items[i].id}, a must, has to stay behind" for i in musts]
        reasons += [
            f"take out {self.problem.items[i].id}: it stands on what is withdrawn" for i in self.lifted
        ]
        if not keeps_spread(self.problem, self.spread, self.best):
            reasons.append("the risk is spread less than the rules ask: what is packed leaves no other way")
        fewer = values(self.problem, self.best)[0] < values(self.problem, self.before)[0]
        return Replanned(
            "short" if missing or musts or fewer else "ok",
            _result(self.problem, self.best),
            tuple(reasons),
            tuple(sorted(i for i in planned if change[i] == 0)),
            tuple(sorted(i for i in planned if change[i] == MOVED)),
            tuple(sorted(i for i in planned if change[i] == REBAGGED)),
            dropped,
            tuple(sorted(now.keys() - self.first.keys())),
        )

    def _offer(self, packing: Packing | None) -> None:
        if packing is None:
            return
        key = self._key(packing)
        if key > self.best_key:
            self.best, self.best_key = packing, key

    def _key(self, packing: Packing) -> Key:
        now = {p.item: p for p in packing.placed}
        musts, wants, *rest = rank_key(values(self.problem, packing))
        changes = sum(_change(p, now.get(i)) for i, p in self.first.items() if i not in self.change.withdrawn)
        spread = keeps_spread(self.problem, self.spread, packing)
        return len(self.change.brought_in & now.keys()), musts, wants, int(spread), -changes, *rest

    def _nothing_more(self) -> bool:
        """Whether every line has all it wants, everything brought in goes, and nothing had to change."""
        if not self.best_key or self.best_key[0] < len(self.change.brought_in) or self.best_key[4]:
            return False
        return all(self.best_key[k + 1 if k < 2 else 5] == ceiling(self.problem, GOALS[k]) for k in range(3))

    def _freed(self, here: Packing) -> frozenset[int]:
        loose = [p.item for p in here.placed if p.item not in self.packed]
        count = min(len(loose), self.dice.randint(0, MOST_FREED))
        return frozenset(self.dice.sample(loose, count))

    def _repaired(self, here: Packing, freed: frozenset[int], boards: Boards) -> Packing | None:
        """Return what stands without the freed and withdrawn, with whatever finds room put in.

        None when a packed bag would fall; others that fall count as freed.
        """
        gone = freed | self.change.withdrawn
        up = put_up(self.problem, here, [p.item for p in here.placed if p.item not in gone], boards)
        if self.packed.intersection(up.fallen):
            return None
        for item in self._order(freed.union(up.fallen)):
            if up.draft.may_go(item):
                up.draft.insert(self._ways_of(item))
        return up.draft.packing()

    def _order(self, freed: frozenset[int]) -> list[int]:
        """What was brought in, then by rank; freed bags before or after new ones, as the dice fall."""
        order = order_of(self.problem, self.ways, self.dice.randrange(2, 6), self.dice)
        freed_first = self.dice.random() < 0.5
        rank = {k: self.problem.lines[item.line].rank for k, item in enumerate(self.problem.items)}
        return sorted(
            order, key=lambda i: (i not in self.change.brought_in, rank[i], (i in freed) != freed_first)
        )

    def _ways_of(self, item: int) -> Sequence[Option]:
        """The bag as it was planned first, then others; by margin or by size, as the dice fall."""
        ways = self.ways.get(item, ())
        was = self.first.get(item)
        if was is not None:
            first = was.choice, was.bin
            return sorted(ways, key=lambda o: ((o.choice, o.bin) != first, o.choice != was.choice))
        return sorted(ways, key=lambda o: -o.margin_min) if self.dice.random() < 0.5 else ways


def _change(was: Placed, now: Placed | None) -> int:
    if now is None:
        return DROPPED
    if (was.choice, was.bin) != (now.choice, now.bin):
        return REBAGGED
    return 0 if (was.at_mm, was.size_mm) == (now.at_mm, now.size_mm) else MOVED


def _result(problem: Problem, packing: Packing) -> Result:
    now = values(problem, packing)
    carried = len(GOALS) if packing.placed else 3  # where nothing goes, nothing is billed
    bounds = [plain_bound(problem, goal) if k < carried else 0 for k, goal in enumerate(GOALS)]
    goals = tuple(
        GoalValue(goal, value, bound, value == bound)
        for goal, value, bound in zip(GOALS, now, bounds, strict=True)
    )
    return Result(packing.placed, packing.boards, goals, False)

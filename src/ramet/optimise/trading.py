"""Trades bags between boxes, hundreds of thousands of times: which bag goes, in which box, on floor or board.

Here a box holds its bags when they have places seen from above, none beside another that it can't be over;
boards come afterwards. That is decided in some millionths of a second, so that far more is tried than by
packing each box anew, and no box is ever given up for a poor order of placing.
"""

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import chain

import numpy as np

from ramet.optimise.flats import flat_of, plane_of, room_under
from ramet.optimise.goals import GOALS, Packing, item_value, rank_key, rank_of, values
from ramet.optimise.kernels import NOWHERE, Bits, Ints, mixed
from ramet.optimise.options import Option, holders, option_standing, weight
from ramet.optimise.places import WORDS_PER_S, PlaceTable
from ramet.optimise.problem import Board, Problem, Rule
from ramet.optimise.solving import AT_ONCE, Account
from ramet.optimise.spread import is_must, spread_needed
from ramet.optimise.stacking import Filled
from ramet.optimise.surfaces import board_mass_g
from ramet.optimise.trade_kernels import Limits, State, Things, Ways, desk_for, trade

CHUNK_S = 0.1
"""Deterministic seconds of trading before what was found is packed and the clock is asked."""
COUNTS = {"musts": (4, 2, 1), "wants": (8, 4, 1), "fillers": (10, 5, 2)}
"""What a must, a want and the most worthy filler count while trading for a goal.

Enough of a difference for the earlier goals to stay, not so much that nothing ever makes room.
"""
COOL_SHARE = 0.05
"""The loss that a trade may bring in the end, as a share of what it may bring at first: one of its goal."""

Hold = Callable[[tuple[Option, ...]], Filled | None]


def traded(
    problem: Problem,
    options: Sequence[Option],
    table: PlaceTable,
    goal: str,
    enough: int,
    packing: Packing,
    account: Account,
    seed: int,
    seconds: float,
    hold: Hold,
    on_better: Callable[[Packing], None] = lambda _: None,
    seen: dict[tuple[Option, ...], None] | None = None,
) -> Packing:
    """Return the best packing found by trading for a goal; it carries no less than the one given.

    Ends where the goal has `enough`. Spends so many deterministic seconds on each of two threads; the same
    for the same seed. `hold` fills a box with boards, or not: then that set of bags is left aside. `seen`
    gets some of the boxes that came by.
    """
    market = _Market.of(problem, options, table, goal)
    if market is None:
        return packing
    best, rank = packing, GOALS.index(goal)
    whole = int(seconds * WORDS_PER_S)
    traders = [_Trader.of(market, packing, seed * AT_ONCE + n) for n in range(AT_ONCE)]
    spent = 0
    with ThreadPoolExecutor(AT_ONCE) as pool:
        while spent < whole and account.left_s > 0 and values(problem, best)[rank] < enough:
            spent = min(whole, spent + int(CHUNK_S * WORDS_PER_S))
            list(pool.map(lambda one, until=spent: one.run(until, whole), traders))
            account.charge(CHUNK_S)
            for one in traders:
                if seen is not None:
                    seen.update(dict.fromkeys(one.boxes()))
                better = one.packed(hold, best)
                if better is not None:
                    best = better
                    on_better(best)
    return best


@dataclass(slots=True)
class _Market:
    """The problem as numbers. `options` are the ways; `banned` the marks of boxes without boards."""

    problem: Problem
    options: tuple[Option, ...]
    table: PlaceTable
    things: Things
    ways: Ways
    limits: Limits
    heat: tuple[int, int]
    banned: Bits = field(default_factory=lambda: np.zeros(0, dtype=np.uint64))

    @classmethod
    def of(
        cls, problem: Problem, options: Sequence[Option], table: PlaceTable, goal: str
    ) -> "_Market | None":
        """Return the market of these options; None when nothing can be traded."""
        able = tuple(sorted(options, key=lambda o: (o.item, o.bin, o.upper, o.choice, o.top_mm)))
        if not able:
            return None
        most = max(
            [1, *(item_value(problem, i) for i in range(len(problem.items)) if rank_of(problem, i) == 2)]
        )
        hot = COUNTS[goal][GOALS.index(goal)] * most
        return cls(
            problem,
            able,
            table,
            things_of(problem, able, COUNTS[goal], most),
            ways_of(problem, able, table),
            limits_of(problem),
            (hot, int(hot * COOL_SHARE)),
        )

    def ban(self, bags: Sequence[int]) -> None:
        """Leave a set of bags in one box aside from now on."""
        mark = np.bitwise_xor.reduce(self.ways.mark[list(bags)])
        self.banned = np.append(self.banned, mark)


@dataclass(slots=True)
class _Trader:
    market: _Market
    now: State
    best: State
    done: int = 0

    @classmethod
    def of(cls, market: _Market, packing: Packing, seed: int) -> "_Trader":
        start = _state(market, packing, seed)
        return cls(market, start, copied(start))

    def run(self, until: int, whole: int) -> None:
        """Trade on for a while."""
        m = self.market
        span = (self.done, until, whole)
        self.done = trade(
            self.now,
            self.best,
            m.things,
            m.ways,
            m.limits,
            m.table.grid,
            m.table.flats,
            m.banned,
            m.heat,
            span,
            desk_for(len(self.now.where), m.limits),
        )

    def boxes(self) -> list[tuple[Option, ...]]:
        """Return how boxes are filled just now, and at best."""
        m = self.market
        filled = (
            state.way[state.where == b].tolist()
            for state in (self.now, self.best)
            for b in range(len(m.limits.most_g))
        )
        return [tuple(m.options[way] for way in sorted(ways)) for ways in filled if ways]

    def packed(self, hold: Hold, best: Packing) -> Packing | None:
        """Return what was found as a packing if it carries more and all boxes can be filled."""
        m = self.market
        sets = [
            tuple(sorted(self.best.way[self.best.where == b].tolist())) for b in range(len(m.limits.most_g))
        ]
        if self._key() <= rank_key(values(m.problem, best))[:3]:
            return None
        filled = {bags: hold(tuple(m.options[way] for way in bags)) for bags in sets if bags}
        for bags, box in filled.items():
            if box is None:
                m.ban(bags)
        if all(filled.values()):
            whole = [box for box in filled.values() if box is not None]
            placed = chain.from_iterable(box.placed for box in whole)
            return Packing(
                tuple(sorted(placed, key=lambda p: p.item)),
                tuple(board for box in whole for board in box.boards),
            )
        self.best = _state(m, best, 0)
        return None

    def _key(self) -> tuple[int, ...]:
        going = np.flatnonzero(self.best.where != NOWHERE)
        key = [0, 0, 0]
        for item in going.tolist():
            key[rank_of(self.market.problem, item)] += item_value(self.market.problem, item)
        return tuple(key)


def _state(market: _Market, packing: Packing, seed: int) -> State:
    """Return a packing as a state; a bag whose way is not traded stays out."""
    number = {option: k for k, option in enumerate(market.options)}
    items = len(market.problem.items)
    state = nothing(items, np.array([scrambled(seed)], dtype=np.uint64))
    for placed in packing.placed:
        way = number.get(option_standing(market.problem, placed))
        if way is not None:
            state.where[placed.item], state.way[placed.item] = placed.bin, way
    return state


def nothing(items: int, seed: Bits) -> State:
    """Return the state in which nothing goes."""
    return State(np.full(items, NOWHERE), np.full(items, NOWHERE), seed)


def copied(state: State) -> State:
    """Return a state that changes on its own."""
    return State(state.where.copy(), state.way.copy(), state.seed.copy())


def scrambled(number: int) -> int:
    """Return a large odd number: neighbours must not start alike."""
    return int(mixed(np.uint64((number + 0x9E3779B97F4A7C15) % 2**64))) | 1


def things_of(problem: Problem, options: Sequence[Option], counts: tuple[int, int, int], most: int) -> Things:
    """Return every item; a must, a want and the most worthy filler count so much in trading."""
    ranks = [rank_of(problem, i) for i in range(len(problem.items))]
    worth = [item_value(problem, i) for i in range(len(problem.items))]
    must, want, filler = counts
    count_as = {0: must * most, 1: want * most, 2: filler}
    strains = {item.strain: 0 for item in problem.items}
    for number, name in enumerate(strains):
        strains[name] = number
    first, many, way = _ways_by_box(problem, options)
    since, other = _exclusions(problem)
    names = sorted(problem.capacities)
    return Things(
        value=_ints(count_as[rank] * value for rank, value in zip(ranks, worth, strict=True)),
        rank=_ints(ranks),
        worth=_ints(worth),
        weight=_ints(weight(problem, i) for i in range(len(problem.items))),
        line=_ints(item.line for item in problem.items),
        strain=_ints(strains[item.strain] for item in problem.items),
        must=np.array([is_must(problem, item) for item in problem.items], dtype=np.bool_),
        uses=np.array([[item.uses.get(name, 0) for name in names] for item in problem.items], dtype=np.int64),
        first=first,
        many=many,
        way=way,
        since=since,
        other=other,
    )


def _ways_by_box(problem: Problem, options: Sequence[Option]) -> tuple[Ints, Ints, Ints]:
    shape = len(problem.items), len(problem.bins)
    by: dict[tuple[int, int], list[int]] = {}
    for number, option in enumerate(options):
        by.setdefault((option.item, option.bin), []).append(number)
    first, many = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    way: list[int] = []
    for (item, b), numbers in by.items():
        first[item, b], many[item, b] = len(way), len(numbers)
        way += numbers
    return first, many, _ints(way)


def _exclusions(problem: Problem) -> tuple[Ints, Ints]:
    """Return for each item where its list of items begins that share a piece with it, and all the lists."""
    holding = holders(problem)
    since, other = [0], []
    for i, item in enumerate(problem.items):
        other += sorted({k for piece in item.pieces for k in holding[piece]} - {i})
        since.append(len(other))
    return _ints(since), _ints(other)


def ways_of(problem: Problem, options: Sequence[Option], table: PlaceTable) -> Ways:
    """Return every option as a way."""
    dice = np.random.default_rng(len(options))
    return Ways(
        kind=_ints(
            table.number(plane_of(box), flat_of(box, o)) for o in options for box in [problem.bins[o.bin]]
        ),
        upper=np.array([o.upper for o in options], dtype=np.bool_),
        under_mm=_ints(o.under_board_mm for o in options),
        room_mm=_ints(room_under(problem, o) if o.upper else 0 for o in options),
        soft=np.array([problem.items[o.item].soft for o in options], dtype=np.bool_),
        mass_g=_ints(_mass_g(problem, o) for o in options),
        carries_g=_ints(o.carries_g for o in options),
        bears=np.array([o.stack_most > 1 for o in options], dtype=np.bool_),
        mark=dice.integers(1, 2**63, len(options)).astype(np.uint64),
    )


def _mass_g(problem: Problem, option: Option) -> int:
    """Return what a bag weighs, with a board of its size below it if it stands on one."""
    if not option.upper:
        return option.mass_g
    return option.mass_g + board_mass_g(problem, Board(option.bin, 0, (0, 0, *option.size_mm[:2])))


def limits_of(problem: Problem) -> Limits:
    """Return what all items share."""
    spread = spread_needed(problem)
    strains = dict.fromkeys(item.strain for item in problem.items)
    return Limits(
        wanted=_ints(line.wanted for line in problem.lines),
        caps=_ints(problem.capacities[name] for name in sorted(problem.capacities)),
        most_g=_ints(box.max_contents_g for box in problem.bins),
        spread_musts=spread.musts,
        spread_strain=np.array([name in spread.strains for name in strains], dtype=np.bool_),
        soft_never_above=Rule.SOFT_NEVER_ABOVE in problem.rules,
    )


def _ints(numbers: Iterable[int]) -> Ints:
    return np.array(list(numbers), dtype=np.int64)

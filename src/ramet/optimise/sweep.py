"""The most that one box can carry at given profits of its bags: a sweep over heights, through flat states.

A floor bag and an upper bag are beside each other just when the floor bag is taller than the board below the
upper one may be. So sort all by these heights: on the way up floor bags leave and upper bags join, and what
is there between two such events lies in one plane (a flat set). A way to fill a box is a walk through sets
that fit side by side, from its floor bags to its upper bags. A dynamic programme over (event, set) bounds
every walk in about a millisecond; what it leaves open (an item taken twice, places that change on the way,
mass) is settled by going through the walks that are worth more than what is known.

What bears a bag on a board is left out: the bound holds all the same.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import product

import numpy as np

from ramet.optimise.flats import flat_of, plane_of, room_under, side_by_side_mm
from ramet.optimise.floors import Flat, turned
from ramet.optimise.frontier import FITS, Frontier
from ramet.optimise.kernels import NOWHERE, Bits, Flags, Ints
from ramet.optimise.options import Option, weight
from ramet.optimise.packing import covers
from ramet.optimise.places import WORDS_PER_S, PlaceTable
from ramet.optimise.problem import Problem, Rule
from ramet.optimise.solving import AT_ONCE
from ramet.optimise.spread import most_together, spread_needed
from ramet.optimise.sweep_kernels import NEVER, Events, Floats, States, count_taken, sweep_values
from ramet.optimise.walk_places import Memory
from ramet.optimise.walks import Search

MOST_STATES = 40_000
"""With more sets than this a sweep takes too long."""
MEMORY = 1 << 20
"""How many parts of boxes each thread remembers at most, times two."""
SEEN = 1 << 18
"""How many points of a search are remembered at once."""
SETS = 1 << 20
"""Room for sets of items that are looked for at once; half of it is used at most."""
CELLS_PER_S = 2_000_000_000
"""How many pairs of event and set a sweep goes through in a second, measured on one core."""
SOFTENINGS = 30
"""Steps that take a bound down by charging items that a walk takes twice."""
LEAST_PROFIT = 1e-9
NO_CAP = 10**6
TALLEST_MM = 10**6

Pattern = tuple[int, ...]
"""Items that go into one box together."""
Way = tuple[Option, ...]
"""How they go into it: beside each other and on boards they have places."""


@dataclass(frozen=True, slots=True)
class Priced:
    """The most profit in one box that is known, ways to get near it, a bound, and the seconds it took."""

    profit: float
    ways: tuple[Way, ...]
    bound: float
    cost_s: float


@dataclass(slots=True)
class Sweep:
    """One box as flat states and events in the order of their heights."""

    table: PlaceTable
    options: tuple[Option, ...]
    states: States
    kind: Ints
    floor: Flags
    soft: Flags
    item: Ints
    mass_g: Ints
    group: Ints
    pieces: Ints
    cap: Ints
    most_g: int
    items: int
    price: Floats
    memory: tuple[Memory, ...]

    @classmethod
    def of(
        cls, problem: Problem, options: Sequence[Option], b: int, frontier: Frontier, table: PlaceTable
    ) -> "Sweep | None":
        """Return the sweep of a box; None where three layers may stand, or sets are too many."""
        here = _lean(problem, [o for o in options if o.bin == b])
        soft_matters = Rule.SOFT_NEVER_ABOVE in problem.rules
        if side_by_side_mm(problem, options, b) or not frontier.complete or not here:
            return None
        box = problem.bins[b]
        flats = [turned(flat_of(box, o)) for o in here]
        numbers = [table.number(plane_of(box), flat) for flat in flats]
        states = _states(frontier, table, problem, b, here, flats)
        if states is None:
            return None
        heights = [_height_mm(problem, o) for o in here]
        groups, cap = strains(problem)
        order = sorted(range(len(here)), key=lambda k: (heights[k], here[k].upper, k))
        return cls(
            table,
            tuple(here[k] for k in order),
            states,
            np.array([numbers[k] for k in order], dtype=np.int64),
            np.array([not here[k].upper for k in order], dtype=np.bool_),
            np.array([soft_matters and problem.items[here[k].item].soft for k in order], dtype=np.bool_),
            np.array([here[k].item for k in order], dtype=np.int64),
            np.array([here[k].mass_g for k in order], dtype=np.int64),
            groups,
            np.array([weight(problem, item) for item in range(len(problem.items))], dtype=np.int64),
            cap,
            box.max_contents_g,
            len(problem.items),
            np.zeros(len(problem.items)),
            tuple(
                Memory(
                    np.zeros(MEMORY, dtype=np.uint64),
                    np.zeros(MEMORY, dtype=np.int8),
                    np.zeros(2, dtype=np.int64),
                    np.zeros((SEEN, 3), dtype=np.int64),
                )
                for _ in range(AT_ONCE)
            ),
        )

    def relaxed(self, profit: Floats) -> tuple[float, Floats, float]:
        """Return a bound on the profit in one box, how often each item counts, and the seconds it took."""
        events, values = self._events(profit)
        worth = profit[events.item]
        sweep_values(worth, events, self.states, values)
        start = self._best_start(values)
        counts = np.zeros(self.items)
        count_taken(start, worth, events, self.states, values, counts)
        return float(values[0, start]), counts, values.size / CELLS_PER_S

    def most(self, profit: Floats, cut: float, limit_s: float) -> Priced:
        """Return the most profit above `cut` in one box, with a bound on it."""
        events, values = self._events(profit)
        bound, cost_s = self._softened(profit, cut, events, values)
        if bound <= cut + 1e-6:
            return Priced(cut, (), cut, cost_s)
        search = self._search(profit, cut, events, values, limit_s)
        most = search.run(bound)
        used = np.flatnonzero(self._is_worth(profit))
        ways = tuple(tuple(self.options[k] for k in used[row].tolist()) for row in search.ways())
        cost_s += search.words / WORDS_PER_S
        return Priced(search.best if ways else cut, ways, min(bound, most), cost_s)

    def every(
        self, profit: Floats, cut: float, limit_s: float, go_on: Callable[[], bool] = lambda: True
    ) -> tuple[Bits | None, float]:
        """Return every set of items of more profit than `cut` that one box may carry, and the seconds.

        As bits, by the number of the item; an item that brings nothing is in none. None where there are too
        many, finding them takes too long, or it may not go on.
        """
        events, values = self._events(profit)
        bound, cost_s = self._softened(profit, cut, events, values)
        if bound <= cut + 1e-6:
            return np.zeros(0, dtype=np.uint64), cost_s
        searches = [self._search(profit, cut, events, values, limit_s, n, sets=SETS) for n in range(AT_ONCE)]
        with ThreadPoolExecutor(AT_ONCE) as pool:
            each = list(pool.map(lambda n: searches[n].every(go_on), range(AT_ONCE)))
        cost_s += max(search.words for search in searches) / WORDS_PER_S
        found = [sets for sets in each if sets is not None]
        return np.unique(np.concatenate(found)) if len(found) == len(each) else None, cost_s

    def _search(
        self,
        profit: Floats,
        cut: float,
        events: Events,
        values: Floats,
        limit_s: float,
        thread: int = 0,
        sets: int = 0,
    ) -> Search:
        return Search(
            profit,
            cut,
            self.price,
            values,
            events,
            self.states,
            self.table.grid,
            self.most_g,
            self.memory[thread],
            int(limit_s * WORDS_PER_S),
            sets=sets,
            share=(thread, AT_ONCE) if sets else (0, 1),
        )

    def _is_worth(self, profit: Floats) -> Flags:
        found: Flags = profit[self.item] > LEAST_PROFIT
        return found

    def _events(self, profit: Floats) -> tuple[Events, Floats]:
        """Return the events of items that bring profit, and room for the values of a sweep."""
        worth = self._is_worth(profit)
        item = self.item[worth]
        last = np.full(self.items, NOWHERE)
        last[item] = np.arange(len(item))
        told, of_group = last.copy(), np.full(len(self.cap), NOWHERE)
        np.maximum.at(of_group, self.group, last)
        capped = self.cap[self.group] < NO_CAP
        told[capped] = of_group[self.group[capped]]
        events = Events(
            self.kind[worth],
            self.floor[worth],
            self.soft[worth],
            item,
            self.mass_g[worth],
            last,
            told,
            self.group,
            self.pieces,
            self.cap,
        )
        return events, np.empty((len(item) + 1, len(self.states.end)))

    def _best_start(self, values: Floats) -> int:
        return int(self.states.starts[values[0, self.states.starts].argmax()])

    def _softened(self, profit: Floats, cut: float, events: Events, values: Floats) -> tuple[float, float]:
        """Charge items that the best walk takes twice (Held & Karp 1971, from memory); return the bound."""
        there = events.last >= 0
        price = np.where(there, np.minimum(self.price, np.maximum(profit, 0.0)), 0.0)
        best, scale, stale = np.inf, 1.0, 0
        self.price = price.copy()
        for _ in range(SOFTENINGS):
            worth = (profit - price)[events.item]
            sweep_values(worth, events, self.states, values)
            start = self._best_start(values)
            bound = float(values[0, start]) + float(price.sum())
            if bound < best - 1e-9:
                best, stale, self.price = bound, 0, price.copy()
            else:
                stale += 1
                if stale >= 5:
                    scale, stale, price = 0.6 * scale, 0, self.price.copy()
            if best <= cut + 1e-6:
                break
            counts = np.zeros(self.items)
            count_taken(start, worth, events, self.states, values, counts)
            step = np.where(there & ((counts > 1) | (price > 0)), counts - 1, 0.0)
            norm = float(step @ step)
            if norm == 0:
                break
            price = np.clip(price + scale * max(bound - cut, 0.5) / norm * step, 0.0, np.maximum(profit, 0.0))
        sweep_values((profit - self.price)[events.item], events, self.states, values)
        return best, (SOFTENINGS + 1) * values.size / CELLS_PER_S


def strains(problem: Problem) -> tuple[Ints, Ints]:
    """Return the strain of each item as a number, and how many pieces of each one box of several may hold."""
    most = most_together(problem, spread_needed(problem))
    names = list(dict.fromkeys(item.strain for item in problem.items))
    number = {name: n for n, name in enumerate(names)}
    groups = np.array([number[item.strain] for item in problem.items], dtype=np.int64)
    return groups, np.array([most.get(name, NO_CAP) for name in names], dtype=np.int64)


def _lean(problem: Problem, options: Sequence[Option]) -> list[Option]:
    """Return the options of one box without those that take no less room than another of their item."""
    found: list[Option] = []
    for o in sorted(options, key=lambda o: (o.area_mm2, o.size_mm[2], o.mass_g, o.choice, o.upper, o.top_mm)):
        rivals = (other for other in found if (other.item, other.upper) == (o.item, o.upper))
        if not any(_takes_no_more(problem, other, o) for other in rivals):
            found.append(o)
    return found


def _takes_no_more(problem: Problem, one: Option, other: Option) -> bool:
    box = problem.bins[one.bin]
    flats = [turned(flat_of(box, o)) for o in (one, other)]
    low, high = sorted((_height_mm(problem, one), _height_mm(problem, other)))
    lower = _height_mm(problem, one) == (high if one.upper else low)
    return covers(flats[1], flats[0]) and lower and one.mass_g <= other.mass_g


def _height_mm(problem: Problem, option: Option) -> int:
    """Return where a floor bag leaves and an upper bag joins."""
    if option.upper:
        return room_under(problem, option)
    return option.under_board_mm if option.stack_most > 1 else TALLEST_MM


def _states(
    frontier: Frontier,
    table: PlaceTable,
    problem: Problem,
    b: int,
    here: Sequence[Option],
    flats: Sequence[Flat],
) -> States | None:
    """Return the sets that fit, split into floor bags and upper bags in every way; None if too many."""
    low = sorted({flat for o, flat in zip(here, flats, strict=True) if not o.upper})
    high = sorted({flat for o, flat in zip(here, flats, strict=True) if o.upper})
    at = _splits(frontier, low, high)
    if at is None:
        return None
    plane = plane_of(problem.bins[b])
    kinds, many = len(table.kinds), len(at)
    leave, join = np.full((kinds, many), NOWHERE), np.full((kinds, many), NOWHERE)
    floors, uppers = np.zeros((many, kinds), dtype=np.int64), np.zeros((many, kinds), dtype=np.int64)
    parts: dict[tuple[int, ...], int] = {}
    part = np.zeros(many, dtype=np.int64)
    for state, number in at.items():
        part[number] = parts.setdefault(state[: len(low)], len(parts))
        for place, flat in enumerate((*low, *high)):
            kind = table.number(plane, flat)
            if place < len(low):
                floors[number, kind] = state[place]
                leave[kind, number] = at.get(_changed(state, place, -1), NOWHERE)
            else:
                uppers[number, kind] = state[place]
                join[kind, number] = at.get(_changed(state, place, 1), NOWHERE)
    starts = [number for state, number in at.items() if not any(state[len(low) :])]
    empty = np.array([not any(state[: len(low)]) for state in at])
    salt = np.random.default_rng(many).integers(1, 2**63, (kinds, len(parts))).astype(np.uint64)
    after = np.concatenate([leave, join]).T.copy()
    end = np.where(empty, 0.0, NEVER)
    first = np.array(starts, dtype=np.int64)
    return States(leave, join, after, floors, uppers, uppers.sum(axis=1), part, first, end, salt)


def _changed(state: tuple[int, ...], place: int, step: int) -> tuple[int, ...]:
    return (*state[:place], state[place] + step, *state[place + 1 :])


def _splits(
    frontier: Frontier, low: Sequence[Flat], high: Sequence[Flat]
) -> dict[tuple[int, ...], int] | None:
    """Return all sets as counts of the floor kinds, then of the upper kinds, numbered."""
    column = {kind: k for k, kind in enumerate(frontier.kinds)}
    wanted = sorted({*low, *high})
    others = [k for kind, k in column.items() if kind not in wanted]
    rows = (frontier.state == FITS) & ~frontier.sets[:, others].any(axis=1)
    found: list[tuple[int, ...]] = []
    for counts in frontier.sets[rows][:, [column[kind] for kind in wanted]].tolist():
        count = dict(zip(wanted, counts, strict=True))
        ways = [_shares(count[kind], kind in low, kind in high) for kind in wanted]
        for shares in product(*ways):
            down = dict(zip(wanted, shares, strict=True))
            state = (*(down[kind] for kind in low), *(count[kind] - down[kind] for kind in high))
            found.append(state)
        if len(found) > MOST_STATES:
            return None
    return {state: number for number, state in enumerate(sorted(found))}


def _shares(count: int, may_low: bool, may_high: bool) -> range:
    """Return how many of a kind may be floor bags."""
    if may_low and may_high:
        return range(count + 1)
    return range(count, count + 1) if may_low else range(0, 1)

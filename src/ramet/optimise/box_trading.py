"""Good ways to fill one box at given profits of its bags, by trading: quick, many, and with no proof.

What the sweep finds one by one, with a bound, trading finds by the dozen, and with boards that are borne.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import chain

import numpy as np

from ramet.optimise.kernels import NOWHERE, Bits, Ints
from ramet.optimise.options import Option
from ramet.optimise.places import WORDS_PER_S, PlaceTable
from ramet.optimise.problem import Problem
from ramet.optimise.solving import AT_ONCE
from ramet.optimise.sweep import Way, strains
from ramet.optimise.sweep_kernels import Floats
from ramet.optimise.trade_kernels import Limits, State, Things, Ways, desk_for, trade
from ramet.optimise.trading import copied, limits_of, nothing, scrambled, things_of, ways_of

TURNS = 4
"""Ways that are looked for by each thread."""
TURN_S = 0.005
"""Deterministic seconds for each."""
MOST_ASIDE = 40
"""How many ways are looked for at most while a bound is worked out."""
FINE = 1000
"""Profits are rounded down to this fraction."""
UNBANNED = np.zeros(0, dtype=np.uint64)
HOT, COOL = 0.2, 0.01
"""The loss that a trade may bring at first and in the end, as a share of the largest profit."""


@dataclass(slots=True)
class BoxTrader:
    """One box of a kind as numbers; `states` (one for each thread) go on from one search to the next."""

    options: tuple[Option, ...]
    number: dict[Option, int]
    table: PlaceTable
    things: Things
    ways: Ways
    limits: Limits
    states: tuple[State, ...]

    @classmethod
    def of(cls, problem: Problem, options: Sequence[Option], b: int, table: PlaceTable) -> "BoxTrader":
        """Return the trader of a box that starts empty."""
        able = tuple(
            sorted((o for o in options if o.bin == b), key=lambda o: (o.item, o.upper, o.choice, o.top_mm))
        )
        items = len(problem.items)
        group, cap = strains(problem)
        things, limits = things_of(problem, able, (1, 1, 1), 1), limits_of(problem)
        first, many = things.first[:, b : b + 1].copy(), things.many[:, b : b + 1].copy()
        return cls(
            able,
            {option: k for k, option in enumerate(able)},
            table,
            things._replace(line=group, first=first, many=many),
            ways_of(problem, able, table),
            limits._replace(wanted=cap, most_g=limits.most_g[b : b + 1].copy()),
            tuple(
                nothing(items, np.array([scrambled(AT_ONCE * b + n)], dtype=np.uint64))
                for n in range(AT_ONCE)
            ),
        )

    def look(self, profit: Floats, starts: Sequence[Way]) -> tuple[tuple[Way, ...], float]:
        """Return some ways of much profit, and the deterministic seconds it took.

        Looks around each of the ways to start from, and where it was the last time.
        """
        things = self._things(profit)
        turns = [starts[n::AT_ONCE][: TURNS - 1] for n in range(AT_ONCE)]
        with ThreadPoolExecutor(AT_ONCE) as pool:
            each = pool.map(lambda n: self._trade(self.states[n], things, turns[n], TURNS), range(AT_ONCE))
            found = list(chain.from_iterable(each))
        return tuple(dict.fromkeys(found)), TURNS * TURN_S

    def look_aside(self, profit: Floats, starts: Sequence[Way], seconds: float) -> tuple[Way, ...]:
        """Return such ways that one thread finds beside another that works so many deterministic seconds."""
        turns = min(MOST_ASIDE, int(seconds / TURN_S))
        return tuple(dict.fromkeys(self._trade(self.states[0], self._things(profit), starts, turns)))

    def _things(self, profit: Floats) -> Things:
        worth: Ints = np.floor(profit * FINE).astype(np.int64)
        return self.things._replace(value=worth, worth=worth, rank=np.zeros_like(worth))

    def _trade(self, state: State, things: Things, starts: Sequence[Way], turns: int) -> list[Way]:
        largest = max(1, int(things.worth.max(initial=1)))
        heat = int(HOT * largest), int(COOL * largest)
        words = int(TURN_S * WORDS_PER_S)
        desk, found = desk_for(len(state.where), self.limits), []
        for turn in range(turns):
            now = self._state(starts[turn], state.seed) if turn < len(starts) else state
            gone = things.worth <= 0
            now.where[gone] = now.way[gone] = NOWHERE
            best = copied(now)
            span = 0, words, words
            trade(
                now,
                best,
                things,
                self.ways,
                self.limits,
                self.table.grid,
                self.table.flats,
                UNBANNED,
                heat,
                span,
                desk,
            )
            inside = best.way[best.where != NOWHERE]
            if len(inside):
                found.append(tuple(self.options[way] for way in inside.tolist()))
        return found

    def _state(self, way: Way, seed: Bits) -> State:
        state = nothing(len(self.things.value), seed)
        for option in way:
            if option not in self.number:
                continue  # a way that takes more room than another
            state.where[option.item], state.way[option.item] = 0, self.number[option]
        return state

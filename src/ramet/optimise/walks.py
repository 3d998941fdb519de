"""The best walk of a sweep that has places as well: which starts are looked at, and how far down.

Few starts can lead to more than what is known. All are searched above one level, above a lower one if that
brought nothing, and so on: what a search costs grows many times over with each.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from ramet.optimise.kernels import NOWHERE, Bits, Grid, Ints
from ramet.optimise.sweep_kernels import Events, Floats, States
from ramet.optimise.walk_apart import told_apart
from ramet.optimise.walk_graphs import Graph, flat_graph, on_trial, soften, trimmed, value, worths
from ramet.optimise.walk_kernels import KEPT, LEAST_ABOVE, Found, walk_for, walk_on
from ramet.optimise.walk_places import MOST_INSIDE, Memory, slots_of

LEVELS = (0.2, 0.4, 0.6, 0.8, 1.0)
"""Searches look above these parts of what is open, one after the other."""
FLAT_STEPS, STEPS = 15, 10
"""Steps that take the bound of one start down by prices, among flat states and where ways are told apart."""
NODES = 1 << 16
"""How many ways to get somewhere one start tells apart; beyond, places are looked up bag by bag."""


@dataclass(slots=True)
class _Start:
    """Floor bags that a walk begins with, prices of items there, and the most that it may bring.

    `graph` are the flat states that bring it above the best that was known when it was first looked at.
    """

    state: int
    price: Floats
    bound: float
    graph: Graph | None = None


@dataclass(slots=True)
class Search:
    """A search for the most profit above `cut` in one box, within `limit` words looked at.

    `values` is what a sweep says at prices of items. Of several who `share` it, each finds other sets.
    """

    profit: Floats
    cut: float
    price: Floats
    values: Floats
    events: Events
    states: States
    grid: Grid
    most_g: int
    memory: Memory
    limit: int
    nodes: int = NODES
    sets: int = 0
    share: tuple[int, int] = (0, 1)
    slot: Ints = field(init=False)
    found: Found = field(init=False)

    def __post_init__(self) -> None:
        self.slot = slots_of(self.events, self.states.salt.shape[0])
        rows = np.full((KEPT, MOST_INSIDE), NOWHERE)
        sets = np.zeros(self.sets, dtype=np.uint64)
        self.found = Found(np.full(1, self.cut), rows, np.zeros(2, np.int64), np.zeros(1, np.int64), sets)

    @property
    def best(self) -> float:
        """The most profit found, `cut` if none."""
        return float(self.found.best[0])

    @property
    def words(self) -> int:
        """The words looked at so far."""
        return int(self.found.work[0])

    def ways(self) -> list[Ints]:
        """Return the events of the last few bests on the way."""
        return [row[row != NOWHERE] for row in self.found.ways if row[0] != NOWHERE]

    def run(self, most: float) -> float:
        """Search, and return a bound on the profit; no walk brings more than `most`."""
        starts = self._starts()
        for level in LEVELS:
            low = most - level * (most - self.cut)
            self._search_above(low, starts)
            if self.best > low or self.words > self.limit:
                break
        return max([self.best, *(start.bound for start in starts)])

    def every(self, go_on: Callable[[], bool]) -> Bits | None:
        """Return every set of items that brings more than the cut, as bits; None where that takes too long.

        Or where it may not go on; that is asked after each start. Without `sets` to note them in there are
        none.
        """
        for start in self._starts():
            self._look_above(self.cut, start)
            start.graph = None
            if self.words > self.limit or self.found.tally[1] < 0 or not go_on():
                return None
        found: Bits = np.sort(self.found.sets[self.found.sets > 0])
        return found

    def _starts(self) -> list[_Start]:
        """Return where walks above the cut may start."""
        whole = float(self.price.sum())
        first = self.values[0, self.states.starts] + whole
        return [
            _Start(int(start), self.price.copy(), float(bound))
            for start, bound in zip(self.states.starts, first, strict=True)
            if bound > self.cut + LEAST_ABOVE
        ]

    def _search_above(self, low: float, starts: list[_Start]) -> None:
        """Take the bounds of all starts down to a level, or to the best that is found above it."""
        for start in sorted(starts, key=lambda start: -start.bound):
            if self.words > self.limit or start.bound <= max(low, self.best) + LEAST_ABOVE:
                break
            start.bound = min(start.bound, self._look_above(low, start))

    def _look_above(self, low: float, start: _Start) -> float:
        """Go through the walks from a start that come above a level and the best; bound what is left."""
        low = max(low, self.best)
        least = low + LEAST_ABOVE
        bound, flat, values = self._flat_above(least, start)
        if bound <= least:
            return low
        worth, price = self._worths(start.price), start.price.copy()
        graph, words = told_apart(
            flat, self.slot, worth, values, least - price.sum(), self.states, self.grid, self.memory,
            self.nodes, self.limit - self.words,
        )  # fmt: skip
        self._book(words)
        if not len(graph.state):
            return bound
        values = self._room(graph)
        exact = self._soften(graph, price, least, STEPS, values)
        if exact <= least:
            return low
        walk = walk_for(self.profit, self.slot, self.events)
        left = walk_on(
            graph, values, low, self.profit, price, self.slot, self.events, self.states, self.grid,
            self.most_g, self.memory, self.limit, self.found, self.share, walk,
        )  # fmt: skip
        return min(bound, exact, left)

    def _flat_above(self, least: float, start: _Start) -> tuple[float, Graph, Floats]:
        """Return a bound on the walks from a start that come above `least`, their flat graph, and its values.

        The prices of the start become those of the bound.
        """
        if start.graph is None:
            worth, least = self._worths(self.price), self.best + LEAST_ABOVE - self.price.sum()
            start.graph = flat_graph(start.state, self.states, self.slot, worth, self.values, least)
        graph = self._trimmed(start.graph, start.price, least)
        values = self._room(graph)
        if not len(graph.state):
            return least, graph, values
        return self._soften(graph, start.price, least, FLAT_STEPS, values), graph, values

    def _trimmed(self, graph: Graph, price: Floats, least: float) -> Graph:
        """Return the part of a graph through which walks come above `least`."""
        if not len(graph.state):
            return graph
        worth, values = self._worths(price), self._room(graph)
        self._book(value(graph, worth, values))
        kept, words = trimmed(graph, worth, values, least - price.sum(), self.states, self.grid, self.memory)
        self._book(words)
        return kept

    def _worths(self, price: Floats) -> Floats:
        """Return what each event brings once its item is paid for."""
        worth = np.empty(len(self.events.item))
        worths(self.profit, price, self.events, worth)
        return worth

    def _soften(self, graph: Graph, price: Floats, least: float, most: int, values: Floats) -> float:
        """Return a bound on the walks through a graph; prices and values become those of the bound."""
        bound, words = soften(
            graph, self.events, self.profit, price, least, most, values, on_trial(price, self.events)
        )
        self._book(words)
        return bound

    def _room(self, graph: Graph) -> Floats:
        """Return room for what is still to come from each point of a graph."""
        return np.empty(len(graph.event))

    def _book(self, words: int) -> None:
        self.found.work[0] += words

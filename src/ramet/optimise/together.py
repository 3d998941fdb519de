"""The best that known ways to fill a box carry together, one way for each box.

Ways may overlap: what two of them hold goes in one. So few ways stand for many packings, and the best of a
thousand is found at once where filling boxes one after another takes long. Prices of places bound what a part
of such a choice can become.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain
from typing import Any, NamedTuple

import numpy as np
from ortools.sat.python import cp_model

from ramet.optimise.columns import Prices
from ramet.optimise.counting import Counted, carried_by, counted_at
from ramet.optimise.kernels import NOWHERE, Bits, Ints, bare, compiled, mixed
from ramet.optimise.sweep import Pattern
from ramet.optimise.sweep_kernels import Floats

WAYS_PER_S = 20_000_000
"""How many ways are weighed against others in a second, measured on one core."""
MOST_S = 0.3
"""Deterministic seconds for one choice at most."""
NEARLY = 1e-6


class Pool(NamedTuple):
    """Known ways: those of a kind from `first[kind]` on; `item[way]` fills up with NOWHERE.

    `price` is what a place for an item is worth, `share` the most profit of a way of each kind, and `base`
    what goes brings besides.
    """

    first: Ints
    item: Ints
    price: Floats
    share: Floats
    base: float


@bare
def _gain(items: Ints, held: Ints, price: Floats) -> float:
    """Return what a way brings beside what is held already."""
    gain = 0.0
    for item in items:
        if item == NOWHERE:
            break
        if held[item] == 0:
            gain += price[item]
    return gain


@bare
def _weigh(d: int, slots: Ints, pool: Pool, held: Ints, gain: Floats, taken: int, lacks: float) -> int:
    """Write what each way still brings in the boxes after box `d`, and return how many were weighed.

    `lacks` is what each must bring beside the most that a way of its kind may bring.
    """
    work, before = 0, NOWHERE
    for k in range(d + 1, len(slots)):
        kind = slots[k]
        if kind == before:
            continue
        before = kind
        low = taken + 1 if kind == slots[d] else pool.first[kind]
        for way in range(low, pool.first[kind + 1]):
            # no way brings more beside more than it did before
            gain[d + 1, way] = gain[d, way]
            if gain[d, way] >= lacks + pool.share[kind]:
                gain[d + 1, way] = _gain(pool.item[way], held, pool.price)
                work += 1
    return work


@bare
def _put(items: Ints, step: int, held: Ints, pieces: Ints, counted: Counted) -> None:
    """Put the items of a way into what is held (1), or take them out (-1)."""
    for item in items:
        if item == NOWHERE:
            break
        held[item] += step
        if held[item] == (1 if step == 1 else 0):
            pieces[counted.line[item]] += step * counted.weight[item]


@bare
def _mark(at: Ints) -> Any:
    """Return what a choice of ways is banned by."""
    mark = np.uint64(0)
    for way in at:
        mark += mixed(np.uint64(way + 1))
    return mark


@bare
def _is_banned(at: Ints, banned: Bits) -> bool:
    mark, known = _mark(at), False
    for one in banned:
        known = known or one == mark
    return known


@compiled
def best_choice(
    slots: Ints, pool: Pool, counted: Counted, least: int, banned: Bits, limit: int
) -> tuple[int, Ints, int]:
    """Return the most that ways carry, at least `least` or -1; the ways; and how many were weighed.

    `slots` are the kinds of the boxes in order. Past the limit it is the best so far. Choices whose marks are
    `banned` are left out.
    """
    boxes, many = len(slots), len(pool.item)
    held = np.zeros(len(counted.line), dtype=np.int64)
    pieces = np.zeros(len(counted.wanted), dtype=np.int64)
    gain, worth, ahead = np.zeros((boxes + 1, many)), np.zeros(boxes + 1), np.zeros(boxes + 1)
    at, best = np.full(boxes, NOWHERE), np.full(boxes, NOWHERE)
    for d in range(boxes - 1, -1, -1):
        ahead[d] = ahead[d + 1] + pool.share[slots[d]]
    for way in range(many):
        gain[0, way] = _gain(pool.item[way], held, pool.price)
    value, work, d = least - 1, 0, 0
    while d >= 0:
        kind = slots[d]
        way = at[d]
        if way != NOWHERE:
            _put(pool.item[way], -1, held, pieces, counted)
        elif d and slots[d - 1] == kind:
            way = at[d - 1]
        else:
            way = pool.first[kind] - 1
        lacks = value + 1 - NEARLY - pool.base - worth[d] - ahead[d + 1]
        way += 1
        while way < pool.first[kind + 1] and gain[d, way] < lacks:
            way += 1
        work += 1
        if way == pool.first[kind + 1] or work > limit:
            at[d] = NOWHERE
            d -= 1
            continue
        at[d] = way
        _put(pool.item[way], 1, held, pieces, counted)
        worth[d + 1] = worth[d] + gain[d, way]
        if d + 1 < boxes:
            lacks = value + 1 - NEARLY - pool.base - worth[d + 1] - ahead[d + 1]
            work += _weigh(d, slots, pool, held, gain, way, lacks)
            d += 1
            continue
        found = carried_by(pieces, counted)
        if found > value and not _is_banned(at, banned):
            value = found
            best[:] = at
    return value if best[0] != NOWHERE else -1, best, work


@dataclass(frozen=True, slots=True)
class Together:
    """Which items go, the ways of each kind of box that hold them all, and a mark to ban them by."""

    items: frozenset[int]
    ways: tuple[tuple[int, Pattern], ...]
    mark: int


def best_together(prices: Prices, least: int, banned: Iterable[int]) -> Together | None:
    """Return the choice of known ways that carries most, at least `least`; None where none was found."""
    ways = _ways(prices, least)
    every = list(chain.from_iterable(ways))
    slots = np.array([k for k, kind in enumerate(prices.kinds) for _ in kind.bins], dtype=np.int64)
    value, best, work = best_choice(
        slots,
        _pool(prices, ways),
        counted_at(prices),
        int(least - prices.carried),
        np.array(sorted(banned), dtype=np.uint64),
        int(MOST_S * WAYS_PER_S),
    )
    prices.charge(work / WAYS_PER_S)
    if value < 0:
        return None
    chosen = [(kind, every[way]) for kind, way in zip(slots.tolist(), best.tolist(), strict=True)]
    items = _going(prices, frozenset(chain.from_iterable(pattern for _, pattern in chosen)))
    return Together(items, tuple(one for one in chosen if one[1]), int(_mark(best)))


def _ways(prices: Prices, least: int) -> list[list[Pattern]]:
    """Return the known ways of each kind that may be of use, most profit first, and an empty one a box."""
    profit = np.maximum(prices.profit(prices.asked), 0.0)
    may = prices.hoped - least + NEARLY
    found = []
    for k, kind in enumerate(prices.kinds):
        worth = {pattern: float(profit[list(pattern)].sum()) for pattern in prices.known.ways[k]}
        near = [pattern for pattern in worth if worth[pattern] >= prices.shares[k] - may]
        near.sort(key=lambda pattern: -worth[pattern])
        found.append([*near, *(() for _ in kind.bins)])
    return found


def _pool(prices: Prices, ways: list[list[Pattern]]) -> Pool:
    every = list(chain.from_iterable(ways))
    item = np.full((len(every), 1 + max(map(len, every))), NOWHERE)
    for row, pattern in zip(item, every, strict=True):
        row[: len(pattern)] = pattern
    boxes, share = np.array([len(kind.bins) for kind in prices.kinds]), np.array(prices.shares)
    return Pool(
        np.cumsum([0, *(len(one) for one in ways)]),
        item,
        np.maximum(prices.profit(prices.asked), 0.0),
        share,
        float(prices.hoped - prices.carried - boxes @ share),
    )


def _going(prices: Prices, inside: frozenset[int]) -> frozenset[int]:
    """Return which of the items that have places go."""
    model = cp_model.CpModel()
    goes = {item: model.new_bool_var("") for item in sorted(inside) if prices.able[item]}
    for amounts, limit, tight in zip(prices.matrix, prices.limits, prices.equal, strict=True):
        total = sum(int(amounts[item]) * one for item, one in goes.items())
        model.add(total == int(limit) if tight else total <= int(limit))
    model.maximize(sum(int(prices.worth[item]) * one for item, one in goes.items()))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.catch_sigint_signal = False
    if solver.solve(model) != cp_model.OPTIMAL:
        return frozenset()
    return frozenset(item for item, one in goes.items() if solver.boolean_value(one))

"""Closes what is open between a packing and its bound: by every way to fill a box that could do better.

Prices say how much worse than the best a way may be in a packing that carries more than the one at hand.
Where these ways are few enough, they are all found, and put together in every manner that covers the items a
better packing can't do without (Baldacci, Christofides & Mingozzi 2008, for routes; from memory).
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from ramet.optimise.columns import Prices
from ramet.optimise.counting import Counted, carried_by, counted_at
from ramet.optimise.kernels import NOWHERE, Bits, Ints, bare, compiled
from ramet.optimise.sweep import LEAST_PROFIT, Pattern
from ramet.optimise.sweep_kernels import Floats

MOST_ITEMS = 64
"""A set of items is one word."""
STEPS_PER_S = 90_000_000
"""How many groups or ways are gone through in a second, measured on one core."""
SETS_PER_S = 1_000_000
"""How many sets of items are put into groups in a second."""
NEARLY = 1e-6
LEAF_STEPS = 10
"""What it takes to count a packing, in such steps."""
WIDER = 2.0
"""How many times what one box may lose all may lose together, where ways at hand are put together."""
WIDER_S = 0.3
"""Deterministic seconds for that."""


class Groups(NamedTuple):
    """Ways to fill boxes, in groups of the same needed items, `needed[group]`: by kind, then by these.

    Those of a kind are from `first[kind]` on. The ways of a group are from `way[group]` on, `lost` least
    first: that is what each brings less than the best. Groups with a needed item are
    `having[since[item] : since[item + 1]]`, and from `since[MOST_ITEMS]` on it has every group by its number;
    needed items are in `order`, the rarest first.
    """

    first: Ints
    needed: Bits
    way: Ints
    items: Bits
    lost: Floats
    having: Ints
    since: Ints
    order: Ints


class Seek(NamedTuple):
    """What is sought: more than `worth`, by ways that lose at most `may` together.

    What loses nothing carries less than one above `most`. A place for an item costs its `price`. `needed`
    items must go; `free` ones need no place that matters.
    """

    worth: int
    most: float
    may: float
    price: Floats
    needed: Bits
    free: Bits
    counted: Counted


@bare
def lowest(items: Any) -> int:
    """Return the lowest item of a set that is not empty."""
    n = 0
    word = np.uint64(items)
    for shift in (32, 16, 8, 4, 2, 1):
        if word & ((np.uint64(1) << np.uint64(shift)) - np.uint64(1)) == 0:
            word >>= np.uint64(shift)
            n += shift
    return n


@bare
def _carried(items: Any, counted: Counted, pieces: Ints) -> int:
    """Return what a set carries for the last goal; SHORT where it falls short of an earlier one."""
    pieces[:] = 0
    left = np.uint64(items)
    while left:
        item = lowest(left)
        left &= left - np.uint64(1)
        pieces[counted.line[item]] += counted.weight[item]
    return carried_by(pieces, counted)


class _Choice(NamedTuple):
    """Ways by box: which is tried, what is held and lost before it, and what others lose at least after it.

    `pieces` is room to count those of each line.
    """

    at: Ints
    held: Bits
    lost: Floats
    ahead: Floats
    pieces: Ints


@bare
def _best_of(
    groups: Groups, chosen: Ints, seek: Seek, value: int, limit: int, best: Ints, room: _Choice
) -> tuple[int, int]:
    """Return the most above `value` that one way from each chosen group carries, or that; and the steps.

    `best` becomes the ways. Past the limit it is the most so far.
    """
    at, held, lost, ahead, pieces = room
    boxes = len(chosen)
    for d in range(boxes - 1, -1, -1):
        ahead[d] = ahead[d + 1] + groups.lost[groups.way[chosen[d]]]
    steps, d = 0, 0
    at[0] = groups.way[chosen[0]] - 1
    while d >= 0 and steps <= limit:
        at[d] += 1
        steps += 1
        way, may = at[d], min(seek.may, seek.most - value)
        if way == groups.way[chosen[d] + 1] or lost[d] + groups.lost[way] + ahead[d + 1] > may:
            d -= 1
            continue
        both, less = groups.items[way] & held[d], lost[d] + groups.lost[way]
        while both:
            less += seek.price[lowest(both)]
            both &= both - np.uint64(1)
        if less + ahead[d + 1] > may:
            continue
        held[d + 1], lost[d + 1] = held[d] | groups.items[way], less
        if d + 1 < boxes:
            d += 1
            at[d] = groups.way[chosen[d]] - 1
            continue
        steps += LEAF_STEPS
        found = _carried(held[boxes] | seek.free[0], seek.counted, pieces)
        if found > value:
            value = found
            for box in range(boxes):
                best[box] = at[box]
    return value, steps


@bare
def _next_groups(groups: Groups, left: Ints, open_items: Any, is_last: bool) -> tuple[int, int]:
    """Return where the groups for the next box begin and end in `having`; NOWHERE if none is told apart.

    The next box holds the rarest item that is still needed, the last one all that are.
    """
    if not is_last:
        for item in groups.order:
            if open_items >> np.uint64(item) & np.uint64(1):
                return groups.since[item], groups.since[item + 1]
        return NOWHERE, NOWHERE
    kind = 0
    while left[kind] == 0:
        kind += 1
    low, high = groups.first[kind], groups.first[kind + 1]
    group = low + np.searchsorted(groups.needed[low:high], open_items)
    if group < high and groups.needed[group] == open_items:
        return groups.since[-1] + group, groups.since[-1] + group + 1
    return 0, 0


@compiled
def best_covering(groups: Groups, many: Ints, seek: Seek, limit: int) -> tuple[int, Ints, int, bool]:
    """Return the most above the `worth` sought that ways carry which cover what is needed, or that.

    Then the ways, the steps, and whether that was decided: not past the limit, nor where a box before the
    last has nothing that it must hold. `many` boxes of each kind; no needed item is in two.
    """
    boxes = int(many.sum())
    best = np.full(boxes, NOWHERE)
    cover = _Cover(
        np.full(boxes, NOWHERE), np.zeros(boxes, np.int64), np.zeros(boxes, np.int64),
        np.zeros(boxes + 1, np.uint64), np.zeros(boxes + 1), np.zeros(boxes, np.int64), many.copy(),
    )  # fmt: skip
    choice = _Choice(
        np.zeros(boxes, np.int64), np.zeros(boxes + 1, np.uint64), np.zeros(boxes + 1), np.zeros(boxes + 1),
        np.zeros(len(seek.counted.wanted), np.int64),
    )  # fmt: skip
    value, steps, decided = _best_cover(groups, seek, limit, cover, choice, best)
    return value, best, steps, decided


class _Cover(NamedTuple):
    """Groups by box: which is `chosen`, where the next is `at` and ends, what is held and lost before it.

    `kind_of` the chosen ones, and how many boxes of each kind are `left`.
    """

    chosen: Ints
    at: Ints
    end: Ints
    held: Bits
    lost: Floats
    kind_of: Ints
    left: Ints


@bare
def _best_cover(
    groups: Groups, seek: Seek, limit: int, cover: _Cover, choice: _Choice, best: Ints
) -> tuple[int, int, bool]:
    chosen, at, end, held, lost, kind_of, left = cover
    boxes, value, steps = len(chosen), seek.worth, 0
    d, down = 0, True
    while d >= 0:
        if down and d == boxes:
            value, more = _best_of(groups, chosen, seek, value, limit - steps, best, choice)
            steps += more
            d -= 1
            left[kind_of[d]] += 1
        elif down:
            at[d], end[d] = _next_groups(groups, left, seek.needed[0] & ~held[d], d == boxes - 1)
            if at[d] == NOWHERE:
                return value, steps, False
        down = False
        if steps > limit:
            return value, steps, False
        if at[d] == end[d]:
            d -= 1
            if d >= 0:
                left[kind_of[d]] += 1
            continue
        group = groups.having[at[d]]
        at[d] += 1
        steps += 1
        kind = 0
        while group >= groups.first[kind + 1]:
            kind += 1
        less = lost[d] + groups.lost[groups.way[group]]
        if groups.needed[group] & held[d] or left[kind] == 0 or less > min(seek.may, seek.most - value):
            continue
        chosen[d], kind_of[d] = group, kind
        held[d + 1], lost[d + 1] = held[d] | groups.needed[group], less
        left[kind] -= 1
        d += 1
        down = True
    return value, steps, True


@bare
def _take_off(ways: Bits, price: Floats, less: Floats) -> None:
    """Take what places for the items of each way are worth from what is lost."""
    for k in range(len(ways)):
        left = ways[k]
        while left:
            less[k] -= price[lowest(left)]
            left &= left - np.uint64(1)


@dataclass(frozen=True, slots=True)
class Closed:
    """The most that any packing carries in several boxes, at least what was asked; items by box."""

    value: int
    ways: tuple[tuple[int, Pattern], ...]


def close(
    prices: Prices,
    worth: int,
    limit_s: float,
    go_on: Callable[[], bool] = lambda: True,
    known: int | None = None,
) -> Closed | None:
    """Return the most above `worth` that any packing carries, and how; or just that.

    Then the ways are what carries more than is `known`, if the ways at hand have such.

    None where it would take longer than the limit or may not go on, or there are too many items. Boards are
    left out, as in prices: the ways may not hold, the value bounds all the same.
    """
    if len(prices.worth) > MOST_ITEMS or not prices.mosts or not np.isfinite(prices.bound):
        return None
    may = prices.bound - worth - 1 + NEARLY
    sets = _sets(prices, may, limit_s, go_on)
    if sets is None:
        return None
    most, ways, decided = _most_of(prices, sets, worth, may, limit_s)
    if not decided:
        return None
    if not ways and known is not None and known < worth:
        _, ways, _ = _most_of(prices, sets, known, WIDER * may, WIDER_S)
    return Closed(most, ways)


def _most_of(
    prices: Prices, sets: Sequence[Bits], worth: int, may: float, limit_s: float
) -> tuple[int, tuple[tuple[int, Pattern], ...], bool]:
    """Return the most above `worth` that sets carry which lose no more than they may together, or just that.

    Then these sets, and whether that was decided within the limit. Items without which more is lost go.
    """
    needed = _needed(prices, may)
    groups = _groups(prices, sets, needed)
    free = np.flatnonzero(prices.able & (prices.best <= LEAST_PROFIT)).tolist()
    seek = Seek(
        int(worth - prices.carried),
        prices.bound - prices.carried - 1 + NEARLY,
        may,
        prices.best,
        _bits(needed),
        _bits(free),
        counted_at(prices),
    )
    many = np.array([len(kind.bins) for kind in prices.kinds], dtype=np.int64)
    value, best, steps, decided = best_covering(groups, many, seek, int(limit_s * STEPS_PER_S))
    prices.charge(sum(map(len, sets)) / SETS_PER_S + steps / STEPS_PER_S)
    return int(value + prices.carried), _chosen(groups, sets, best), decided


def _sets(prices: Prices, may: float, limit_s: float, go_on: Callable[[], bool]) -> list[Bits] | None:
    """Return the sets of items for each kind of box that lose no more than they may; None if too many."""
    sets = []
    profit = prices.profit(prices.best)
    for kind, most in zip(prices.kinds, prices.mosts, strict=True):
        found, cost_s = kind.sweep.every(profit, most - may - NEARLY, limit_s, go_on)
        prices.charge(cost_s)
        if found is None:
            return None
        nothing = np.zeros(1 if most <= may else 0, dtype=np.uint64)
        sets.append(np.concatenate([nothing, found]))
    return sets


def _bits(items: Iterable[int]) -> Bits:
    return np.array([sum(1 << item for item in items)], dtype=np.uint64)


def _needed(prices: Prices, may: float) -> list[int]:
    """Return the items without which a packing loses more than it may, and that can't have two places."""
    whole = prices.apart.solve(prices.best)
    found = []
    for item in np.flatnonzero(prices.best > may).tolist():
        without = prices.apart.without(item, prices.best)
        if without is None or whole is None or whole[0] - without[0] > may:
            found.append(item)
    return found


def _groups(prices: Prices, sets: Sequence[Bits], needed: Sequence[int]) -> Groups:
    first, need, way, items, lost = [0], [], [0], [], []
    for ways, most in zip(sets, prices.mosts, strict=True):
        less = np.full(len(ways), most)
        _take_off(ways, prices.best, less)
        wanted = ways & _bits(needed)[0]
        order = np.lexsort((ways, less, wanted))
        each, start = np.unique(wanted[order], return_index=True)
        items.append(ways[order])
        lost.append(less[order])
        way += [way[-1] + int(size) for size in np.diff([*start, len(ways)]).cumsum()]
        need.append(each)
        first.append(first[-1] + len(each))
    every, less = np.concatenate(need), np.concatenate(lost)
    having, since = [], [0]
    for item in range(MOST_ITEMS):
        mine = np.flatnonzero(every >> np.uint64(item) & np.uint64(1))  # none where it is not needed
        having.append(mine[np.argsort(less[np.array(way)[mine]], kind="stable")])
        since.append(since[-1] + len(mine))
    return Groups(
        np.array(first, dtype=np.int64),
        every,
        np.array(way, dtype=np.int64),
        np.concatenate(items),
        less,
        np.concatenate([*having, np.arange(len(every))]),
        np.array(since, dtype=np.int64),
        np.array(sorted(needed, key=lambda item: (since[item + 1] - since[item], item)), dtype=np.int64),
    )


def _chosen(groups: Groups, sets: Sequence[Bits], best: Ints) -> tuple[tuple[int, Pattern], ...]:
    ends = np.cumsum([len(ways) for ways in sets])
    return tuple(
        (int(np.searchsorted(ends, way, side="right")), _items(int(groups.items[way])))
        for way in best.tolist()
        if way != NOWHERE
    )


def _items(bits: int) -> Pattern:
    return tuple(item for item in range(MOST_ITEMS) if bits >> item & 1)

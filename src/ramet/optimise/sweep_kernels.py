"""The inner loops of `sweep`, compiled: the best walk over flat states, and the best that has places as well.

Beside `kernels`, whose search for places it calls: after a change there, `__pycache__` has to go.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ramet.optimise.kernels import (
    MISFIT,
    NOWHERE,
    UNDECIDED,
    Bits,
    Flags,
    Grid,
    Ints,
    compiled,
    find_places,
    mixed,
)

Floats = NDArray[np.float64]

NEVER = -1e18
MOST_INSIDE = 52
"""More bags than a box can hold: two layers of what a known floor lets in, and some."""
SHORT_WORK, LONG_WORK = 10_000, 500_000
"""Words looked at for the places of a part of a box at first, and before a whole box is left undecided."""
CUT_SHORT = 3
"""Verdict on places that a short search left undecided."""
KEPT = 8
"""How many of the bests on the way are kept."""
EVENT_WORK = 10
"""What a step of a walk costs beside its searches, in words looked at."""


class States(NamedTuple):
    """Sets of bags that fit side by side, floor bags and upper bags told apart, and ways between them.

    `leave[kind, state]` is the state once a floor bag of a kind is gone, `join[kind, state]` once an
    upper bag came; NOWHERE if there is none. `floors[state, kind]` counts floor bags, `part[state]`
    numbers what they are; `starts` have no upper bag, `end[state]` is 0 where no floor bag is left, else
    NEVER. `salt` mixes a kind that joins and the floor bags there into a key.
    """

    leave: Ints
    join: Ints
    floors: Ints
    part: Ints
    starts: Ints
    end: Floats
    salt: Bits


class Events(NamedTuple):
    """Bags in the order of their heights: floor bags leave, upper bags join.

    `last[item]` is its last event. `soft` upper bags stand over `soft` floor bags only.
    """

    kind: Ints
    floor: Flags
    soft: Flags
    item: Ints
    mass_g: Ints
    last: Ints


class Memory(NamedTuple):
    """Verdicts on the places of parts of boxes, by `key`; `filled[0]` of them."""

    key: Bits
    verdict: NDArray[np.int8]
    filled: Ints


@compiled
def sweep_values(worth: Floats, events: Events, states: States, values: Floats) -> None:
    """Write the most worth still to come from each event and state, counting no item's other ways."""
    many = len(worth)
    for s in range(len(states.end)):
        values[many, s] = states.end[s]
    for e in range(many - 1, -1, -1):
        ways = states.leave if events.floor[e] else states.join
        kind = events.kind[e]
        for s in range(len(states.end)):
            best = values[e + 1, s]
            after = ways[kind, s]
            if after != NOWHERE and worth[e] + values[e + 1, after] > best:
                best = worth[e] + values[e + 1, after]
            values[e, s] = best


@compiled
def count_taken(
    start: int, worth: Floats, events: Events, states: States, values: Floats, counts: Floats
) -> None:
    """Count how often the best walk from a start takes each item."""
    counts[:] = 0.0
    s = start
    for e in range(len(worth)):
        after = states.leave[events.kind[e], s] if events.floor[e] else states.join[events.kind[e], s]
        if after != NOWHERE and worth[e] + values[e + 1, after] > values[e + 1, s]:
            counts[events.item[e]] += 1.0
            s = after


@compiled
def _places_of(
    taken: Ints, depth: int, rest: Ints, events: Events, grid: Grid, limit: int
) -> tuple[int, int]:
    """Return whether a part of a walk has places, and the words looked at.

    Of the floor bags still to leave, `rest` by kind, all are below what joined so far.
    """
    kinds = np.empty(2 * MOST_INSIDE, dtype=np.int64)
    at = np.empty(2 * MOST_INSIDE, dtype=np.int64)
    n = 0
    for d in range(1, depth + 1):
        kinds[n], at[n] = events.kind[taken[d]], taken[d]
        n += 1
    for kind in range(len(rest)):
        for _ in range(rest[kind]):
            kinds[n], at[n] = kind, len(events.kind)
            n += 1
    clash = np.zeros((n, n), dtype=np.bool_)
    for a in range(n):
        for b in range(n):
            if a == b:
                continue
            low = at[a] == len(events.kind) or events.floor[at[a]]
            other = at[b] == len(events.kind) or events.floor[at[b]]
            if low == other:
                clash[a, b] = True
                continue
            under, over = (at[a], at[b]) if low else (at[b], at[a])
            clash[a, b] = under > over or (events.soft[over] and not events.soft[under])
    found, _, work = find_places(kinds[:n], clash, grid, limit)
    return found, work


@compiled
def _slot(keys: Bits, verdicts: NDArray[np.int8], key: Any) -> Any:
    """Return where a key is remembered, or may be."""
    many = np.uint64(len(keys))
    slot = np.int64(mixed(key) % many)
    while verdicts[slot] != UNDECIDED and keys[slot] != key:
        slot = (slot + 1) % len(keys)
    return slot


@compiled
def _verdict(
    memory: Memory, key: Any, taken: Ints, depth: int, rest: Ints, events: Events, grid: Grid
) -> tuple[int, int]:
    """Return whether a part of a walk has places, as remembered or searched for, and the words looked at."""
    slot = _slot(memory.key, memory.verdict, key)
    if memory.verdict[slot] != UNDECIDED:
        return memory.verdict[slot], 0
    found, work = _places_of(taken, depth, rest, events, grid, SHORT_WORK)
    verdict = found if found != UNDECIDED else CUT_SHORT
    if 2 * memory.filled[0] < len(memory.key):
        memory.key[slot], memory.verdict[slot] = key, verdict
        memory.filled[0] += 1
    return verdict, work


@compiled
def _settled(
    memory: Memory, key: Any, taken: Ints, depth: int, rest: Ints, events: Events, grid: Grid
) -> tuple[int, int]:
    """Return the verdict on a whole box, by a long search where a short one left it open; and the words."""
    slot = _slot(memory.key, memory.verdict, key)
    if memory.verdict[slot] != CUT_SHORT:
        return memory.verdict[slot], 0
    found, work = _places_of(taken, depth, rest, events, grid, LONG_WORK)
    if found != UNDECIDED:
        memory.verdict[slot] = found
    return memory.verdict[slot], work


@compiled
def walk(
    cut: float,
    profit: Floats,
    price: Floats,
    values: Floats,
    events: Events,
    states: States,
    grid: Grid,
    most_g: int,
    memory: Memory,
    limit: int,
) -> tuple[float, Ints, float, int]:
    """Return the most profit above `cut` in one box, a bound on it, and the words looked at.

    The rows of the second are the events of the last few bests on the way, filled up with NOWHERE.

    Depth first along the events. `values` (of `sweep_values`, worth being profit less price) and the prices
    of items still to come bound what a part can become. Past the limit the bound tells what was left.
    """
    many, deep = len(events.kind), MOST_INSIDE
    best, bound = cut, cut
    found, bests = np.full((KEPT, deep), NOWHERE), 0
    at, state = np.zeros(deep, np.int64), np.zeros(deep, np.int64)
    gain, open_price, mass = np.zeros(deep), np.zeros(deep), np.zeros(deep, np.int64)
    key, taken, hard = np.zeros(deep, np.uint64), np.zeros(deep, np.int64), np.zeros(deep, np.uint64)
    used = np.zeros(len(profit), dtype=np.bool_)
    all_prices = 0.0
    for item in range(len(profit)):
        if events.last[item] >= 0:
            all_prices += price[item]
    work = 0
    first = np.array([values[0, s] for s in states.starts])
    for rank in np.argsort(-first):
        if first[rank] + all_prices <= best + 1e-6:
            break
        if work > limit:
            bound = max(bound, first[rank] + all_prices)
            break
        d = 0
        at[0], state[0], gain[0], open_price[0], mass[0] = 0, states.starts[rank], 0.0, all_prices, 0
        key[0] = mixed(np.uint64(state[0] + 1))
        while d >= 0:
            e, s = at[d], state[d]
            if e >= many or gain[d] + values[e, s] + open_price[d] <= best + 1e-6 or work > limit:
                if work > limit and e < many:
                    bound = max(bound, gain[d] + values[e, s] + open_price[d])
                if d > 0:
                    used[events.item[taken[d]]] = False
                d -= 1
                continue
            at[d] = e + 1
            item, kind = events.item[e], events.kind[e]
            if used[item]:
                continue
            rest = open_price[d] - price[item]
            if events.last[item] == e:
                open_price[d] = rest
            after = states.leave[kind, s] if events.floor[e] else states.join[kind, s]
            worth = gain[d] + profit[item]
            if after == NOWHERE or worth + values[e + 1, after] + rest <= best + 1e-6:
                continue
            if mass[d] + events.mass_g[e] > most_g or d + 1 >= deep:
                continue
            work += EVENT_WORK
            taken[d + 1] = e
            key[d + 1], hard[d + 1] = key[d], hard[d]
            salt = states.salt[kind, states.part[s]]
            if events.floor[e]:
                if not events.soft[e]:
                    hard[d + 1] += salt
            else:
                key[d + 1] += mixed(salt ^ mixed(hard[d])) if events.soft[e] else salt
                verdict, looked = _verdict(memory, key[d + 1], taken, d + 1, states.floors[s], events, grid)
                work += looked
                if verdict == MISFIT:
                    continue
            d += 1
            at[d], state[d], gain[d], open_price[d] = e + 1, after, worth, rest
            mass[d] = mass[d - 1] + events.mass_g[e]
            used[item] = True
            if states.end[after] == 0.0 and worth > best + 1e-6:
                verdict, looked = _settled(memory, key[d], taken, d, states.floors[after], events, grid)
                work += looked
                if verdict == CUT_SHORT:
                    bound = max(bound, worth)
                elif verdict != MISFIT:
                    best = worth
                    for n in range(deep):
                        found[bests % KEPT, n] = taken[n + 1] if n < d else NOWHERE
                    bests += 1
    return best, found, max(best, bound), work

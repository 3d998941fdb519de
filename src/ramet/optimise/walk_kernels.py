"""The most that one box carries, places and all: the search that `sweep` leaves open, compiled.

What the graph of a start lets through is gone through item by item. It calls `kernels`, `walk_places` and
`walk_graphs`: after a change there, `__pycache__` has to go.
"""

from typing import Any, NamedTuple

import numpy as np

from ramet.optimise.kernels import MISFIT, NOWHERE, Bits, Flags, Grid, Ints, bare, mixed
from ramet.optimise.sweep_kernels import Events, Floats, States
from ramet.optimise.walk_graphs import Graph
from ramet.optimise.walk_places import (
    BAG_WORK,
    CUT_LONG,
    MOST_INSIDE,
    Memory,
    key_after,
    settled_verdict,
    start_key,
    verdict_on,
)

KEPT = 8
"""How many of the bests on the way are kept."""
STEP_WORK = 2
"""What it costs to pass a point in a walk, in words looked at."""
SHARED_AT = 3
"""How many bags into a walk those who share a search part ways."""
LEAST_ABOVE = 1e-6
"""What is worth no more than this above a known way is not looked for."""


class Found(NamedTuple):
    """What a search found: the most profit `best[0]`, and in `work[0]` the words looked at for it.

    `ways` are the events of bests, filled up with NOWHERE; `tally[0]` were found, each takes the row of the
    oldest. Where there is room for them, `sets` takes every set of items above the cut, as bits, and the best
    stays at the cut; `tally[1]` of them were found, -1 once there were too many.
    """

    best: Floats
    ways: Ints
    tally: Ints
    work: Ints
    sets: Bits


@bare
def _was_seen(memory: Memory, label: Any, gain: float, mass: int) -> bool:
    """Tell whether a search was at the same point with no less gain and no more mass; if not, note it."""
    slot = np.int64(label % np.uint64(len(memory.seen)))
    name, whole = np.int64(label), np.int64(gain * 1e9 + 0.5)
    known = memory.seen[slot]
    if known[0] == name and known[1] >= whole and known[2] <= mass:
        return True
    known[0], known[1], known[2] = name, whole, mass
    return False


@bare
def _note(found: Found, worth: float, taken: Ints, depth: int) -> None:
    """Note a way that is better than all before."""
    found.best[0] = worth
    row = found.ways[found.tally[0] % KEPT]
    for d in range(MOST_INSIDE):
        row[d] = taken[d] if d < depth else NOWHERE
    found.tally[0] += 1


@bare
def _note_set(found: Found, taken: Ints, depth: int, events: Events) -> None:
    """Note a set of items, unless it is known."""
    if found.tally[1] < 0:
        return
    items = np.uint64(0)
    for d in range(depth):
        items |= np.uint64(1) << np.uint64(events.item[taken[d]])
    slot = np.int64(mixed(items) % np.uint64(len(found.sets)))
    while found.sets[slot] != 0 and found.sets[slot] != items:
        slot = (slot + 1) % len(found.sets)
    if found.sets[slot] == 0:
        found.sets[slot] = items
        found.tally[1] = found.tally[1] + 1 if 2 * found.tally[1] < len(found.sets) else -1


class Walk(NamedTuple):
    """A walk by depth: the point it is `at`, what it weighs and gains, its keys, events `taken`, their slots.

    Which items are `used`, the pieces that groups have `room` for, and what marks an item. `still[event]` are
    the prices of all items that may come from an event on; of those taken, `paid[: many[depth]]` have one.
    """

    at: Ints
    mass: Ints
    gain: Floats
    key: Bits
    hard: Bits
    taken: Ints
    path: Ints
    used: Flags
    room: Ints
    mark: Bits
    still: Floats
    paid: Ints
    many: Ints


def walk_for(profit: Floats, slot: Ints, events: Events) -> Walk:
    """Return room for a walk."""
    return Walk(
        at=np.zeros(MOST_INSIDE, np.int64),
        mass=np.zeros(MOST_INSIDE, np.int64),
        gain=np.zeros(MOST_INSIDE),
        key=np.zeros(MOST_INSIDE, np.uint64),
        hard=np.zeros(MOST_INSIDE, np.uint64),
        taken=np.zeros(MOST_INSIDE, np.int64),
        path=np.zeros(MOST_INSIDE, np.int64),
        used=np.zeros(len(profit), np.bool_),
        room=events.cap.copy(),
        mark=np.empty(len(profit), np.uint64),
        still=np.zeros(len(slot) + 1),
        paid=np.zeros(MOST_INSIDE, np.int64),
        many=np.zeros(MOST_INSIDE, np.int64),
    )


@bare
def _open_price(event: int, paid: int, price: Floats, events: Events, walk: Walk) -> float:
    """Return the prices of items that may still come from an event on; an event that is not any: none."""
    if event == NOWHERE:
        return 0.0
    left = float(walk.still[event])
    for k in range(paid):
        item = walk.paid[k]
        if events.last[item] >= event:
            left -= price[item]
    return left


@bare
def walk_on(
    graph: Graph,
    values: Floats,
    low: float,
    profit: Floats,
    price: Floats,
    slot: Ints,
    events: Events,
    states: States,
    grid: Grid,
    most_g: int,
    memory: Memory,
    limit: int,
    found: Found,
    share: tuple[int, int],
    walk: Walk,
) -> float:
    """Go through all walks from a start that may come above `low` and the best, depth first along the events.

    Returns a bound on what is left: past the limit, or where places stay undecided.

    `values` and the prices of items still to come bound what a part can become. Of those who `share[1]` a
    search, this is number `share[0]`.
    """
    at, mass, gain, key, hard, taken, path, used, room, mark, still, paid, many = walk
    kinds = states.salt.shape[0]
    memory.filled[1] += 1
    salt = mixed(np.uint64(memory.filled[1]))
    for k in range(len(profit)):
        mark[k] = mixed(salt + np.uint64(k))
    for e in range(len(slot) - 1, -1, -1):
        item = events.item[e]
        still[e] = still[e + 1] + (price[item] if events.last[item] == e else 0.0)
    key[0] = start_key(graph.state[0])
    every = len(found.sets) > 0
    work, d, left = found.work[0], 0, low
    while d >= 0:
        least = max(low, found.best[0]) + LEAST_ABOVE - gain[d]
        down = False
        while graph.event[at[d]] != NOWHERE and work <= limit:
            point = at[d]
            e = graph.event[point]
            open_price = _open_price(e, many[d], price, events, walk)
            if values[point] + open_price <= least:
                break
            at[d] += 1
            work += STEP_WORK
            item, after = events.item[e], graph.after[point]
            if d == SHARED_AT - 1 and mixed(np.uint64(after)) % np.uint64(share[1]) != share[0]:
                continue
            if used[item] or room[events.group[item]] < events.pieces[item]:
                continue
            taken[d], path[d] = e, slot[e]
            worth, heavy, further = gain[d] + profit[item], mass[d] + events.mass_g[e], graph.event[after]
            paid[many[d]], many[d + 1] = item, many[d] + (price[item] > 0.0)
            rest = _open_price(further, many[d + 1], price, events, walk)
            if worth + values[after] + rest <= least + gain[d] or heavy > most_g or d + 1 >= MOST_INSIDE:
                continue
            work += BAG_WORK
            key[d + 1], hard[d + 1] = key_after(
                key[d], hard[d], slot[e], graph.state[graph.node[point]], states
            )
            label = salt ^ mixed(key[d + 1] ^ mixed(hard[d + 1] + np.uint64(after)))
            for k in range(d + 1):
                other = events.item[taken[k]]
                if every or (further != NOWHERE and events.told[other] >= further):
                    label ^= mark[other]
            if _was_seen(memory, label, worth, heavy):
                continue
            if not graph.known[graph.node[after]] and (slot[e] // kinds) % 2 == 1:
                rest_of = states.floors[graph.state[graph.node[point]]]
                verdict, looked = verdict_on(memory, key[d + 1], path, d + 1, rest_of, grid)
                work += looked
                if verdict == MISFIT:
                    continue
            d += 1
            at[d], gain[d], mass[d] = after, worth, heavy
            used[item], down = True, True
            room[events.group[item]] -= events.pieces[item]
            break
        node = graph.node[at[d]]
        if down:
            if graph.end[node] == 0.0 and gain[d] > max(low, found.best[0]) + LEAST_ABOVE:
                rest_of = states.floors[graph.state[node]]
                verdict, looked = settled_verdict(memory, key[d], path, d, rest_of, grid)
                work += looked
                work += BAG_WORK * every
                if every and verdict != MISFIT:
                    _note_set(found, taken, d, events)
                elif verdict == CUT_LONG:
                    left = max(left, gain[d])
                elif verdict != MISFIT:
                    _note(found, gain[d], taken, d)
            continue
        if work > limit and graph.event[at[d]] != NOWHERE:
            open_price = _open_price(graph.event[at[d]], many[d], price, events, walk)
            left = max(left, gain[d] + values[at[d]] + open_price)
        d -= 1
        if d >= 0:
            item = events.item[taken[d]]
            used[item] = False
            room[events.group[item]] += events.pieces[item]
    found.work[0] = work
    return max(left, float(found.best[0]))

"""The most that one box carries, places and all: the search that `sweep` leaves open, compiled.

A walk from one set of floor bags goes through few of all states, and few of those bring it above what is
known. So each start has a graph of its own: first of flat states, then of ways to get there as far as places
can tell them apart. Prices of items are softened on it once more, and what it lets through is gone through
item by item. It calls `kernels` and `sweep_kernels`: after a change there, `__pycache__` has to go.
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
    bare,
    compiled,
    find_places,
    mixed,
)
from ramet.optimise.sweep_kernels import NEVER, Events, Floats, States

MOST_INSIDE = 52
"""More bags than a box can hold: two layers of what a known floor lets in, and some."""
SHORT_WORK, LONG_WORK = 60_000, 500_000
"""Words looked at for the places of a part of a box at first, and before a whole box is left undecided."""
CUT_SHORT = 3
"""Verdict on places that a short search left undecided."""
CUT_LONG = 4
"""Verdict on places that a long search left undecided."""
KEPT = 8
"""How many of the bests on the way are kept."""
CELLS_PER_WORD = 3
"""How many pairs of event and node are valued in the time of one word looked at."""
STEP_WORK, BAG_WORK = 2, 30
"""What it costs to pass an event in a walk, and to take its bag, in words looked at."""
STALE = 4
"""Steps without gain before they get shorter."""
LEAST_ABOVE = 1e-6
"""What is worth no more than this above a known way is not looked for."""
DEAD = -2


class Memory(NamedTuple):
    """What was found out: verdicts on the places of parts of boxes, by `key`; `filled[0]` of them.

    `seen[slot]` are parts of walks gone through: their key, what they gain, and their mass. `filled[1]`
    counts searches, so that no search takes another's for its own.
    """

    key: Bits
    verdict: NDArray[np.int8]
    filled: Ints
    seen: Ints


class Graph(NamedTuple):
    """Where a walk from one start can be, those before it first: node 0 is the start.

    `child[node, slot]` is where an event leads, NOWHERE if walks from there bring nothing; `state` is the
    flat state, `end` as in `States`. `known` nodes differ when places may: what leads there was looked up.
    """

    child: Ints
    state: Ints
    end: Floats
    known: Flags


class Steps(NamedTuple):
    """Events by what they do to a state: `slot[event]` for a kind, floor or upper, soft or not.

    The events of a slot are `order[first[slot] : first[slot + 1]]`.
    """

    slot: Ints
    order: Ints
    first: Ints


def steps_of(events: Events, kinds: int) -> Steps:
    """Return the events by slots: floor bags by kind, upper bags by kind, then the soft ones likewise.

    Where no upper bag is soft, floor bags need not be told apart and all count as soft.
    """
    told = np.any(events.soft & ~events.floor)
    soft = events.soft | (events.floor & ~told)
    slot = events.kind + kinds * ~events.floor + 2 * kinds * soft
    first = np.concatenate([[0], np.cumsum(np.bincount(slot, minlength=4 * kinds))])
    return Steps(slot, np.argsort(slot, kind="stable"), first)


@compiled
def _places_of(path: Ints, depth: int, rest: Ints, grid: Grid, limit: int) -> tuple[int, int]:
    """Return whether a part of a walk has places, and the words looked at.

    `path` are slots. Of the floor bags still to leave, `rest` by kind, all are below what joined so far.
    """
    many = len(rest)
    kinds = np.empty(2 * MOST_INSIDE, dtype=np.int64)
    role = np.empty(2 * MOST_INSIDE, dtype=np.int64)
    for n in range(depth):
        kinds[n], role[n] = path[n] % many, path[n] // many
    n = depth
    for kind in range(many):
        for _ in range(rest[kind]):
            kinds[n], role[n] = kind, 0
            n += 1
    clash = np.ones((n, n), dtype=np.bool_)
    for over in range(depth):
        if role[over] % 2 == 0:
            continue
        for under in range(over):
            # gone before the other came: beside it only if a soft bag may not stand over it
            if role[under] == 2 or (role[under] == 0 and role[over] == 1):
                clash[over, under] = clash[under, over] = False
    found, _, work = find_places(kinds[:n], clash, grid, limit)
    return found, work


@bare
def _slot_of(keys: Bits, verdicts: NDArray[np.int8], key: Any) -> Any:
    """Return where a key is remembered, or may be."""
    many = np.uint64(len(keys))
    slot = np.int64(mixed(key) % many)
    while verdicts[slot] != UNDECIDED and keys[slot] != key:
        slot = (slot + 1) % len(keys)
    return slot


@bare
def _verdict(memory: Memory, key: Any, path: Ints, depth: int, rest: Ints, grid: Grid) -> tuple[int, int]:
    """Return whether a part of a walk has places, as remembered or searched for, and the words looked at."""
    slot = _slot_of(memory.key, memory.verdict, key)
    if memory.verdict[slot] != UNDECIDED:
        return memory.verdict[slot], 0
    found, work = _places_of(path, depth, rest, grid, SHORT_WORK)
    verdict = found if found != UNDECIDED else CUT_SHORT
    if 2 * memory.filled[0] < len(memory.key):
        memory.key[slot], memory.verdict[slot] = key, verdict
        memory.filled[0] += 1
    return verdict, work


@bare
def _settled(memory: Memory, key: Any, path: Ints, depth: int, rest: Ints, grid: Grid) -> tuple[int, int]:
    """Return the verdict on a whole box, by a long search where a short one left it open; and the words."""
    slot = _slot_of(memory.key, memory.verdict, key)
    known = memory.verdict[slot]
    if known not in (CUT_SHORT, UNDECIDED):
        return known, 0
    found, work = _places_of(path, depth, rest, grid, LONG_WORK)
    verdict = found if found != UNDECIDED else CUT_LONG
    if known == CUT_SHORT:
        memory.verdict[slot] = verdict
    return verdict, work


@bare
def start_key(start: int) -> Any:
    """Return the key of a walk that has not begun."""
    return mixed(np.uint64(start + 1))


@bare
def key_after(key: Any, hard: Any, slot: int, s: int, states: States) -> tuple[Any, Any]:
    """Return the key of a part of a walk after one more event at a state, and that of its hard bags gone.

    The key tells what joined, over which floor bags, and for soft bags how many had joined when a hard one
    left: places depend on nothing else.
    """
    kinds = states.salt.shape[0]
    kind, role = slot % kinds, slot // kinds
    salt = states.salt[kind, states.part[s]]
    if role == 0:
        return key, hard + mixed(states.salt[kind, 0] + np.uint64(states.joined[s]))
    if role == 2:
        return key, hard
    return key + (mixed(salt ^ mixed(hard)) if role == 3 else salt), hard


@compiled
def flat_graph(start: int, states: States, steps: Steps) -> Graph:
    """Return the flat states that a walk from a start can reach."""
    first, afters = steps.first, states.after
    slots, ways = len(first) - 1, afters.shape[1]
    number = np.full(len(states.end), NOWHERE)
    state = np.empty(len(states.end), dtype=np.int64)
    child = np.full((len(states.end), slots), NOWHERE)
    number[start], state[0], many = 0, start, 1
    n = 0
    while n < many:
        for slot in range(slots):
            after = afters[state[n], slot % ways]
            if after == NOWHERE or first[slot] == first[slot + 1]:
                continue
            if number[after] == NOWHERE:
                number[after], state[many] = many, after
                many += 1
            child[n, slot] = number[after]
        n += 1
    end = np.empty(many)
    for n in range(many):
        end[n] = states.end[state[n]]
    return Graph(child[:many], state[:many], end, np.zeros(many, dtype=np.bool_))


@bare
def value(graph: Graph, steps: Steps, worth: Floats, values: Floats) -> int:
    """Write the most worth still to come from each node and event, counting no item's other ways."""
    many = len(worth)
    for n in range(len(graph.state) - 1, -1, -1):
        for e in range(many):
            values[n, e] = NEVER
        values[n, many] = graph.end[n]
        for slot in range(graph.child.shape[1]):
            after = graph.child[n, slot]
            if after == NOWHERE:
                continue
            for k in range(steps.first[slot], steps.first[slot + 1]):
                e = steps.order[k]
                values[n, e] = worth[e] + values[after, e + 1]
        best = graph.end[n]
        for e in range(many - 1, -1, -1):
            if values[n, e] > best:
                best = values[n, e]
            values[n, e] = best
    return values.size // CELLS_PER_WORD


@bare
def _has_flat_places(
    n: int, graph: Graph, states: States, grid: Grid, memory: Memory, path: Ints
) -> tuple[bool, int]:
    """Tell whether the floor bags of the start and what is at a node now can have places at all."""
    start, s = graph.state[0], graph.state[n]
    kinds = states.salt.shape[0]
    key, depth = start_key(start), 0
    for kind in range(kinds):
        for _ in range(states.floors[start, kind] - states.floors[s, kind]):
            path[depth] = kind
            depth += 1
    bare = depth
    for kind in range(kinds):
        for _ in range(states.uppers[s, kind]):
            path[depth] = kind + kinds
            key += states.salt[kind, states.part[s]]
            depth += 1
    if depth == bare:
        return True, 0
    verdict, work = _verdict(memory, key, path, depth, states.floors[s], grid)
    return verdict != MISFIT, work


@compiled
def trimmed(
    graph: Graph,
    steps: Steps,
    worth: Floats,
    values: Floats,
    least: float,
    states: States,
    grid: Grid,
    memory: Memory,
) -> tuple[Graph, int]:
    """Return the part of a graph through which walks come above `least`, and the words looked at."""
    many, nodes, slots = len(worth), len(graph.state), graph.child.shape[1]
    reach = _Reach(
        np.full((nodes, many + 1), NEVER),
        np.full(nodes, NOWHERE),
        np.zeros((nodes, slots), dtype=np.bool_),
        np.empty(MOST_INSIDE, dtype=np.int64),
    )
    left, work = _reach(graph, steps, worth, values, least, states, grid, memory, reach)
    kept = Graph(
        np.full((left, slots), NOWHERE), np.empty(left, np.int64), np.empty(left), np.empty(left, np.bool_)
    )
    _keep(graph, reach, kept)
    return kept, work


class _Reach(NamedTuple):
    """How much is `reached` at a node and event, what `number` a node keeps, and which of its slots `leads`."""

    reached: Floats
    number: Ints
    leads: Flags
    path: Ints


@bare
def _reach(
    graph: Graph,
    steps: Steps,
    worth: Floats,
    values: Floats,
    least: float,
    states: States,
    grid: Grid,
    memory: Memory,
    reach: _Reach,
) -> tuple[int, int]:
    """Follow walks from the start; return how many nodes they keep, and the words looked at."""
    reached, number, leads, path = reach
    many, nodes, slots = len(worth), len(graph.state), graph.child.shape[1]
    reached[0, 0] = 0.0
    work, left = values.size // CELLS_PER_WORD, 0
    for n in range(nodes):
        alive = False
        for e in range(many + 1):
            if e and reached[n, e - 1] > reached[n, e]:
                reached[n, e] = reached[n, e - 1]
            alive = alive or reached[n, e] + values[n, e] > least
        if alive and not graph.known[n]:
            alive, looked = _has_flat_places(n, graph, states, grid, memory, path)
            work += looked
        if not alive:
            continue
        number[n] = left
        left += 1
        for slot in range(slots):
            after = graph.child[n, slot]
            if after == NOWHERE:
                continue
            for k in range(steps.first[slot], steps.first[slot + 1]):
                e = steps.order[k]
                gain = reached[n, e] + worth[e]
                if gain + values[after, e + 1] > least:
                    leads[n, slot] = True
                    reached[after, e + 1] = max(reached[after, e + 1], gain)
    return left, work


@bare
def _keep(graph: Graph, reach: _Reach, kept: Graph) -> None:
    """Write the part of a graph that walks reach."""
    for n in range(len(graph.state)):
        m = reach.number[n]
        if m == NOWHERE:
            continue
        kept.state[m], kept.end[m], kept.known[m] = graph.state[n], graph.end[n], graph.known[n]
        for slot in range(graph.child.shape[1]):
            if reach.leads[n, slot]:
                kept.child[m, slot] = reach.number[graph.child[n, slot]]


@bare
def _count(graph: Graph, slot: Ints, worth: Floats, events: Events, values: Floats, counts: Floats) -> None:
    """Count how often the best walk takes each item."""
    counts[:] = 0.0
    n = 0
    for e in range(len(worth)):
        after = graph.child[n, slot[e]]
        if after != NOWHERE and worth[e] + values[after, e + 1] > values[n, e + 1]:
            counts[events.item[e]] += 1.0
            n = after


@bare
def _total(price: Floats) -> float:
    total = 0.0
    for one in price:
        total += one
    return total


@bare
def _copy(one: Floats, into: Floats) -> None:
    for k in range(len(one)):
        into[k] = one[k]


@bare
def worths(profit: Floats, price: Floats, events: Events, worth: Floats) -> None:
    """Write what each event brings once its item is paid for."""
    for e in range(len(worth)):
        worth[e] = profit[events.item[e]] - price[events.item[e]]


@compiled
def soften(
    graph: Graph,
    steps: Steps,
    events: Events,
    profit: Floats,
    price: Floats,
    least: float,
    most_steps: int,
    values: Floats,
) -> tuple[float, int]:
    """Charge items that the best walk takes twice (as `sweep` does); return the bound and the words.

    `price` and `values` become those of the bound.
    """
    room = _SofteningRoom(price.copy(), np.zeros(len(price)), np.empty(len(events.item)))
    return _soften(graph, steps, events, profit, price, least, most_steps, values, room)


class _SofteningRoom(NamedTuple):
    """Prices on trial, how often each item counts at these, and what each event is worth."""

    trial: Floats
    counts: Floats
    worth: Floats


@bare
def _soften(
    graph: Graph,
    steps: Steps,
    events: Events,
    profit: Floats,
    price: Floats,
    least: float,
    most_steps: int,
    values: Floats,
    room: _SofteningRoom,
) -> tuple[float, int]:
    trial, counts, worth = room
    best, scale, stale, work = np.inf, 0.3, 0, 0
    last = False
    for k in range(most_steps):
        worths(profit, trial, events, worth)
        work += value(graph, steps, worth, values)
        bound = values[0, 0] + _total(trial)
        last = bound < best - 1e-9
        if last:
            best, stale = bound, 0
            _copy(trial, price)
        else:
            stale += 1
        if best <= least:
            break
        _count(graph, steps.slot, worth, events, values, counts)
        if stale >= STALE:
            scale, stale = 0.6 * scale, 0
            _copy(price, trial)
            continue
        norm = 0.0
        for item in range(len(price)):
            if events.last[item] < 0 or (counts[item] <= 1 and trial[item] <= 0):
                counts[item] = 1.0
            norm += (counts[item] - 1) ** 2
        if norm == 0 or k == most_steps - 1:
            break
        for item in range(len(price)):
            step = scale * max(bound - least, 0.5) / norm * (counts[item] - 1)
            trial[item] = min(max(trial[item] + step, 0.0), max(profit[item], 0.0))
    if not last:
        worths(profit, price, events, worth)
        work += value(graph, steps, worth, values)
    return best, work


@bare
def _path_to(node: int, parent: Ints, via: Ints, path: Ints) -> int:
    """Write the slots that lead to a node; return how many."""
    depth, n = 0, node
    while n:
        depth += 1
        n = parent[n]
    n = node
    for d in range(depth - 1, -1, -1):
        path[d] = via[n]
        n = parent[n]
    return depth


@compiled
def told_apart(
    flat: Graph,
    steps: Steps,
    worth: Floats,
    values: Floats,
    least: float,
    states: States,
    grid: Grid,
    memory: Memory,
    most: int,
    limit: int,
) -> tuple[Graph, int]:
    """Return the graph of ways that have places and come above `least` by flat values; and the words.

    Two ways are one node when places can't tell them apart. Past `most` nodes the rest is left flat. Empty
    past the limit.
    """
    many, slots = len(worth), flat.child.shape[1]
    told = _Told(
        np.zeros(most, np.int64), np.zeros(most, np.int64), np.zeros(most, np.int64),
        np.zeros(most, np.uint64), np.zeros(most, np.uint64),
        np.empty((most, slots), np.int64), np.empty((most, many + 1)),
        np.full(4 * most, NOWHERE), np.zeros(4 * most, np.uint64), np.empty(MOST_INSIDE, np.int64),
    )  # fmt: skip
    nodes, work = _tell_apart(flat, steps, worth, values, least, states, grid, memory, limit, told)
    return _joined(told.child[:nodes], told.at[:nodes], flat, nodes == most), work


class _Told(NamedTuple):
    """Nodes told apart: where they are in the flat graph, from which `parent` and `via` which slot; their keys.

    `table[place]` is the node of that `name`, DEAD if it has no places, NOWHERE if there is none.
    """

    at: Ints
    parent: Ints
    via: Ints
    key: Bits
    hard: Bits
    child: Ints
    reached: Floats
    table: Ints
    name: Bits
    path: Ints


@bare
def _tell_apart(
    flat: Graph,
    steps: Steps,
    worth: Floats,
    values: Floats,
    least: float,
    states: States,
    grid: Grid,
    memory: Memory,
    limit: int,
    told: _Told,
) -> tuple[int, int]:
    at, parent, via, key, hard, child, reached, table, name, path = told
    many, slots, most = len(worth), flat.child.shape[1], len(at)
    key[0] = start_key(flat.state[0])
    reached[0, :] = 0.0
    nodes, dead, work, n = 1, 0, 0, 0
    while n < nodes:
        work += many // CELLS_PER_WORD
        if work > limit:
            nodes = 0
            break
        for e in range(1, many + 1):
            reached[n, e] = max(reached[n, e], reached[n, e - 1])
        s, depth = flat.state[at[n]], -1
        child[n, :] = NOWHERE
        for slot in range(slots):
            after = flat.child[at[n], slot]
            if after == NOWHERE:
                continue
            some = False
            for k in range(steps.first[slot], steps.first[slot + 1]):
                e = steps.order[k]
                if reached[n, e] + worth[e] + values[after, e + 1] > least:
                    some = True
                    break
            if not some:
                continue
            next_key, next_hard = key_after(key[n], hard[n], slot, s, states)
            label = mixed(next_key ^ mixed(next_hard + np.uint64(after)))
            place = np.int64(label % np.uint64(len(table)))
            while table[place] != NOWHERE and name[place] != label:
                place = (place + 1) % len(table)
            if table[place] == NOWHERE:
                fits = True
                if (slot // states.salt.shape[0]) % 2 == 1:
                    if depth < 0:
                        depth = _path_to(n, parent, via, path)
                    path[depth] = slot
                    verdict, looked = _verdict(memory, next_key, path, depth + 1, states.floors[s], grid)
                    work += BAG_WORK + looked
                    fits = verdict != MISFIT
                if fits and nodes == most:
                    child[n, slot] = DEAD - 1 - after
                    continue
                if fits or dead < most:
                    name[place], table[place] = label, nodes if fits else DEAD
                if not fits:
                    dead += 1
                    continue
                at[nodes], parent[nodes], via[nodes] = after, n, slot
                key[nodes], hard[nodes] = next_key, next_hard
                reached[nodes, :] = NEVER
                nodes += 1
            goal = table[place]
            if goal == DEAD:
                continue
            child[n, slot] = goal
            for k in range(steps.first[slot], steps.first[slot + 1]):
                e = steps.order[k]
                gain = reached[n, e] + worth[e]
                if gain + values[after, e + 1] > least and gain > reached[goal, e + 1]:
                    reached[goal, e + 1] = gain
        n += 1
    return nodes, work


@compiled
def _joined(child: Ints, at: Ints, flat: Graph, both: bool) -> Graph:
    """Return told-apart nodes, with the flat ones behind them where some were left flat."""
    nodes = len(at)
    size = nodes + (len(flat.state) if both else 0)
    ways = np.full((size, child.shape[1]), NOWHERE)
    states, end = np.empty(size, dtype=np.int64), np.empty(size)
    known = np.zeros(size, dtype=np.bool_)
    flat_child, flat_state, flat_end = flat.child, flat.state, flat.end
    for n in range(nodes):
        states[n], end[n], known[n] = flat_state[at[n]], flat_end[at[n]], True
        for slot in range(child.shape[1]):
            after = child[n, slot]
            ways[n, slot] = after if after >= NOWHERE else nodes + (DEAD - 1 - after)
    for n in range(size - nodes):
        states[nodes + n], end[nodes + n] = flat_state[n], flat_end[n]
        for slot in range(child.shape[1]):
            if flat_child[n, slot] != NOWHERE:
                ways[nodes + n, slot] = nodes + flat_child[n, slot]
    return Graph(ways, states, end, known)


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


@compiled
def walk_on(
    graph: Graph,
    values: Floats,
    low: float,
    profit: Floats,
    price: Floats,
    steps: Steps,
    events: Events,
    states: States,
    grid: Grid,
    most_g: int,
    memory: Memory,
    limit: int,
    found: Found,
) -> float:
    """Go through all walks from a start that may come above `low` and the best, depth first along the events.

    Returns a bound on what is left: past the limit, or where places stay undecided.

    `values` and the prices of items still to come bound what a part can become.
    """
    walk = _Walk(
        np.zeros(MOST_INSIDE, np.int64), np.zeros(MOST_INSIDE, np.int64), np.zeros(MOST_INSIDE, np.int64),
        np.zeros(MOST_INSIDE), np.zeros(MOST_INSIDE),
        np.zeros(MOST_INSIDE, np.uint64), np.zeros(MOST_INSIDE, np.uint64),
        np.zeros(MOST_INSIDE, np.int64), np.zeros(MOST_INSIDE, np.int64),
        np.zeros(len(profit), np.bool_), events.cap.copy(), np.empty(len(profit), np.uint64),
    )  # fmt: skip
    return _walk_on(
        graph, values, low, profit, price, steps, events, states, grid, most_g, memory, limit, found, walk
    )


class _Walk(NamedTuple):
    """A walk by depth: the event and node it is `at`, what it weighs and gains, prices still to come, its keys.

    The events `taken` and their slots, which items are `used`, the pieces that groups have `room` for, and
    what marks an item.
    """

    at: Ints
    node: Ints
    mass: Ints
    gain: Floats
    open_price: Floats
    key: Bits
    hard: Bits
    taken: Ints
    path: Ints
    used: Flags
    room: Ints
    mark: Bits


@bare
def _walk_on(
    graph: Graph,
    values: Floats,
    low: float,
    profit: Floats,
    price: Floats,
    steps: Steps,
    events: Events,
    states: States,
    grid: Grid,
    most_g: int,
    memory: Memory,
    limit: int,
    found: Found,
    walk: _Walk,
) -> float:
    at, node, mass, gain, open_price, key, hard, taken, path, used, room, mark = walk
    many, kinds = len(events.kind), states.salt.shape[0]
    memory.filled[1] += 1
    salt = mixed(np.uint64(memory.filled[1]))
    for k in range(len(profit)):
        mark[k] = mixed(salt + np.uint64(k))
    open_price[0], key[0] = _total(price), start_key(graph.state[0])
    every = len(found.sets) > 0
    work, d, left = found.work[0], 0, low
    while d >= 0:
        e, n = at[d], node[d]
        least = max(low, found.best[0]) + LEAST_ABOVE - gain[d]
        down = False
        while e < many and values[n, e] + open_price[d] > least and work <= limit:
            work += STEP_WORK
            item, slot = events.item[e], steps.slot[e]
            e += 1
            if used[item]:
                continue
            rest = open_price[d] - price[item]
            if events.last[item] < e:
                open_price[d] = rest
            after = graph.child[n, slot]
            if after == NOWHERE or profit[item] + values[after, e] + rest <= least:
                continue
            if room[events.group[item]] < events.pieces[item]:
                continue
            heavy = mass[d] + events.mass_g[e - 1]
            if heavy > most_g or d + 1 >= MOST_INSIDE:
                continue
            work += BAG_WORK
            taken[d], path[d] = e - 1, slot
            key[d + 1], hard[d + 1] = key_after(key[d], hard[d], slot, graph.state[n], states)
            label = salt ^ mixed(key[d + 1] ^ mixed(hard[d + 1] + np.uint64(after * (many + 1) + e)))
            for k in range(d + 1):
                other = events.item[taken[k]]
                if every or events.told[other] >= e:
                    label ^= mark[other]
            worth = gain[d] + profit[item]
            if _was_seen(memory, label, worth, heavy):
                continue
            if not graph.known[after] and (slot // kinds) % 2 == 1:
                rest_of = states.floors[graph.state[n]]
                verdict, looked = _verdict(memory, key[d + 1], path, d + 1, rest_of, grid)
                work += looked
                if verdict == MISFIT:
                    continue
            at[d] = e
            d += 1
            at[d], node[d], gain[d], open_price[d], mass[d] = e, after, worth, rest, heavy
            used[item], down = True, True
            room[events.group[item]] -= events.pieces[item]
            break
        if down:
            if graph.end[node[d]] == 0.0 and gain[d] > max(low, found.best[0]) + LEAST_ABOVE:
                rest_of = states.floors[graph.state[node[d]]]
                verdict, looked = _settled(memory, key[d], path, d, rest_of, grid)
                work += looked
                work += BAG_WORK * every
                if every and verdict != MISFIT:
                    _note_set(found, taken, d, events)
                elif verdict == CUT_LONG:
                    left = max(left, gain[d])
                elif verdict != MISFIT:
                    _note(found, gain[d], taken, d)
            continue
        if work > limit and e < many:
            left = max(left, gain[d] + values[n, e] + open_price[d])
        d -= 1
        if d >= 0:
            item = events.item[taken[d]]
            used[item] = False
            room[events.group[item]] += events.pieces[item]
    found.work[0] = work
    return max(left, float(found.best[0]))

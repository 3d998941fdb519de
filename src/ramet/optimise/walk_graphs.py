"""Where the walks from one set of floor bags can be, and a bound on what they bring; compiled.

A walk from one set of floor bags goes through few of all states, and few of those bring it above what is
known. So each start has a graph of its own: first of flat states, then of ways to get there as far as places
can tell them apart. Prices of items are softened on it once more. It calls `kernels`, `sweep_kernels` and
`walk_places`: after a change there, `__pycache__` has to go.
"""

from typing import Any, NamedTuple

import numpy as np

from ramet.optimise.kernels import MISFIT, NOWHERE, Bits, Flags, Grid, Ints, bare, compiled, mixed
from ramet.optimise.sweep_kernels import NEVER, Events, Floats, States
from ramet.optimise.walk_places import MOST_INSIDE, Memory, key_after, start_key, verdict_on

POINT_WORK = 1
"""What it costs to value a point, in words looked at."""
BAG_WORK = 30
"""What it costs to take a bag."""
STALE = 4
"""Steps without gain before they get shorter."""
ROOM = 16
"""How many points there is room for, by node that is told apart."""
DEAD, OVER = -2, -3
"""No node but ways without places, or more than are told apart; flat points are below these."""


class Graph(NamedTuple):
    """Where a walk from one start can be, those before it first: node 0 is the start.

    A walk is at a point: a node, and an event that it takes or passes by. It takes `event[point]` to be at
    the point `after[point]`, or passes on to the next one; the last point of a node has no event (NOWHERE).
    Those of a node are from `first[node]` on. `state` is the flat state of a node, `end` as in `States`.
    `known` nodes differ when places may: what leads there was looked up.
    """

    event: Ints
    after: Ints
    node: Ints
    first: Ints
    state: Ints
    end: Floats
    known: Flags


@bare
def _point_past(event: int, node: int, graph: Graph) -> int:
    """Return the first point of a node whose event comes after a given one."""
    low, high = graph.first[node], graph.first[node + 1] - 1
    while low < high:
        middle = (low + high) // 2
        if graph.event[middle] > event:
            high = middle
        else:
            low = middle + 1
    return low


@compiled
def _with_room(nodes: int, points: int) -> Graph:
    return Graph(
        np.full(points, NOWHERE), np.full(points, NOWHERE), np.empty(points, np.int64),
        np.zeros(nodes + 1, np.int64), np.empty(nodes, np.int64), np.empty(nodes), np.zeros(nodes, np.bool_),
    )  # fmt: skip


class _Reachable(NamedTuple):
    """States in the order in which they are reached, their `number`, how much is `reached` at each and event.

    `takes[node, event]` tells which events lead on.
    """

    state: Ints
    number: Ints
    reached: Floats
    takes: Flags


@compiled
def flat_graph(start: int, states: States, slot: Ints, worth: Floats, values: Floats, least: float) -> Graph:
    """Return the flat states through which walks from a start come above `least`, by events of these slots.

    `values` are what each event and state may still bring by these worths, as `sweep_values` writes them.
    """
    many, every = len(slot), len(states.end)
    found = _Reachable(
        np.empty(every, np.int64), np.full(every, NOWHERE), np.empty((every, many + 1)),
        np.empty((every, many), np.bool_),
    )  # fmt: skip
    nodes, points = _reachable(start, states, slot, worth, values, least, found)
    graph = _with_room(nodes, points)
    _write_flat(graph, states, slot, found)
    return graph


@bare
def _reachable(
    start: int,
    states: States,
    slot: Ints,
    worth: Floats,
    values: Floats,
    least: float,
    found: _Reachable,
) -> tuple[int, int]:
    """Find the states, in order; return how many there are, and their points."""
    state, number, reached, takes = found
    ways, many = states.after.shape[1], len(slot)
    number[start], state[0] = 0, start
    for e in range(many + 1):
        reached[0, e] = 0.0
    nodes, points, n = 1, 0, 0
    while n < nodes:
        for e in range(many):
            takes[n, e] = False
            if e and reached[n, e - 1] > reached[n, e]:
                reached[n, e] = reached[n, e - 1]
            after, gain = states.after[state[n], slot[e] % ways], reached[n, e] + worth[e]
            if after == NOWHERE or gain + values[e + 1, after] <= least:
                continue
            if number[after] == NOWHERE:
                number[after], state[nodes] = nodes, after
                for later in range(many + 1):
                    reached[nodes, later] = NEVER
                nodes += 1
            reached[number[after], e + 1] = max(reached[number[after], e + 1], gain)
            takes[n, e] = True
            points += 1
        n += 1
    return nodes, points + nodes


@bare
def _write_flat(graph: Graph, states: States, slot: Ints, found: _Reachable) -> None:
    ways, point = states.after.shape[1], 0
    for n in range(len(graph.state)):
        graph.state[n], graph.end[n] = found.state[n], states.end[found.state[n]]
        for e in range(len(slot)):
            if found.takes[n, e]:
                graph.event[point], graph.node[point] = e, n
                graph.after[point] = found.number[states.after[found.state[n], slot[e] % ways]]
                point += 1
        graph.node[point] = n
        point += 1
        graph.first[n + 1] = point
    _find_points(graph)


@bare
def value(graph: Graph, worth: Floats, values: Floats) -> int:
    """Write the most worth still to come from each point, counting no item's other ways."""
    for point in range(len(graph.event) - 1, -1, -1):
        e = graph.event[point]
        if e == NOWHERE:
            values[point] = graph.end[graph.node[point]]
        else:
            values[point] = max(values[point + 1], worth[e] + values[graph.after[point]])
    return POINT_WORK * len(values)


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
    left = depth
    for kind in range(kinds):
        for _ in range(states.uppers[s, kind]):
            path[depth] = kind + kinds
            key += states.salt[kind, states.part[s]]
            depth += 1
    if depth == left:
        return True, 0
    verdict, work = verdict_on(memory, key, path, depth, states.floors[s], grid)
    return verdict != MISFIT, work


class _Kept(NamedTuple):
    """How much is `reached` at a point, which node it leads to for good, and what `number` a node keeps."""

    reached: Floats
    leads: Ints
    number: Ints
    path: Ints


@compiled
def trimmed(
    graph: Graph, worth: Floats, values: Floats, least: float, states: States, grid: Grid, memory: Memory
) -> tuple[Graph, int]:
    """Return the part of a graph through which walks come above `least`, and the words looked at."""
    points, nodes = len(graph.event), len(graph.state)
    kept = _Kept(
        np.full(points, NEVER), np.full(points, NOWHERE), np.full(nodes, NOWHERE), np.empty(MOST_INSIDE, np.int64)
    )
    work = _reach(graph, worth, values, least, states, grid, memory, kept)
    left = 0
    many = 0
    for n in range(nodes):
        left += kept.number[n] != NOWHERE
        many += kept.number[n] != NOWHERE
    for point in range(points):
        many += kept.leads[point] != NOWHERE and kept.number[kept.leads[point]] != NOWHERE
    found = _with_room(left, many)
    _write_kept(graph, kept, found)
    return found, work


@bare
def _reach(
    graph: Graph,
    worth: Floats,
    values: Floats,
    least: float,
    states: States,
    grid: Grid,
    memory: Memory,
    kept: _Kept,
) -> int:
    """Follow walks from the start, number the nodes that they keep, and return the words looked at."""
    reached, leads, number, path = kept
    reached[0] = 0.0
    work, left = POINT_WORK * len(reached), 0
    for n in range(len(number)):
        low, high = graph.first[n], graph.first[n + 1]
        alive = False
        for point in range(low, high):
            if point > low and reached[point - 1] > reached[point]:
                reached[point] = reached[point - 1]
            alive = alive or reached[point] + values[point] > least
        if alive and not graph.known[n]:
            alive, looked = _has_flat_places(n, graph, states, grid, memory, path)
            work += looked
        if not alive:
            continue
        number[n] = left
        left += 1
        for point in range(low, high - 1):
            after = graph.after[point]
            gain = reached[point] + worth[graph.event[point]]
            if gain + values[after] > least:
                leads[point] = graph.node[after]
                reached[after] = max(reached[after], gain)
    return work


@bare
def _write_kept(graph: Graph, kept: _Kept, found: Graph) -> None:
    point = 0
    for n in range(len(kept.number)):
        m = kept.number[n]
        if m == NOWHERE:
            continue
        found.state[m], found.end[m], found.known[m] = graph.state[n], graph.end[n], graph.known[n]
        for old in range(graph.first[n], graph.first[n + 1] - 1):
            if kept.leads[old] != NOWHERE and kept.number[kept.leads[old]] != NOWHERE:
                found.event[point], found.node[point] = graph.event[old], m
                found.after[point] = kept.number[kept.leads[old]]
                point += 1
        found.node[point] = m
        point += 1
        found.first[m + 1] = point
    _find_points(found)


@bare
def _find_points(graph: Graph) -> None:
    """Turn the nodes that points lead to into the points there."""
    for point in range(len(graph.event)):
        if graph.event[point] != NOWHERE:
            graph.after[point] = _point_past(graph.event[point], graph.after[point], graph)


@bare
def _count(graph: Graph, worth: Floats, events: Events, values: Floats, counts: Floats) -> None:
    """Count how often the best walk takes each item."""
    counts[:] = 0.0
    point = 0
    while graph.event[point] != NOWHERE:
        e, after = graph.event[point], graph.after[point]
        if worth[e] + values[after] > values[point + 1]:
            counts[events.item[e]] += 1.0
            point = after
        else:
            point += 1


@bare
def total(price: Floats) -> float:
    """Return the sum of prices, in their order."""
    whole = 0.0
    for one in price:
        whole += one
    return whole


@bare
def _copy(one: Floats, into: Floats) -> None:
    for k in range(len(one)):
        into[k] = one[k]


@bare
def worths(profit: Floats, price: Floats, events: Events, worth: Floats) -> None:
    """Write what each event brings once its item is paid for."""
    for e in range(len(worth)):
        worth[e] = profit[events.item[e]] - price[events.item[e]]


class _OnTrial(NamedTuple):
    """Prices on trial, how often each item counts at these, and what each event is worth."""

    price: Floats
    counts: Floats
    worth: Floats


@compiled
def soften(
    graph: Graph,
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
    trial = _OnTrial(price.copy(), np.zeros(len(price)), np.empty(len(events.item)))
    return _soften(graph, events, profit, price, least, most_steps, values, trial)


@bare
def _soften(
    graph: Graph,
    events: Events,
    profit: Floats,
    price: Floats,
    least: float,
    most_steps: int,
    values: Floats,
    on_trial: _OnTrial,
) -> tuple[float, int]:
    trial, counts, worth = on_trial
    best, scale, stale, work = np.inf, 0.3, 0, 0
    last = False
    for k in range(most_steps):
        worths(profit, trial, events, worth)
        work += value(graph, worth, values)
        bound = values[0] + total(trial)
        last = bound < best - 1e-9
        if last:
            best, stale = bound, 0
            _copy(trial, price)
        else:
            stale += 1
        if best <= least:
            break
        _count(graph, worth, events, values, counts)
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
        work += value(graph, worth, values)
    return best, work


class _Told(NamedTuple):
    """Nodes told apart: the flat node each is `at`, from which `parent` and `via` which slot; their keys.

    Its points, the flat ones all of them, are from `row[node]` on: how much is `reached` there, and which
    node they lead to (or the flat point, counted down from OVER - 1). `table[place]` is the node of that
    `name`, DEAD if it has no places, NOWHERE if there is none. `child[slot]` is where a slot leads from the
    node `asked[slot]`.
    """

    at: Ints
    parent: Ints
    via: Ints
    key: Bits
    hard: Bits
    row: Ints
    reached: Floats
    leads: Ints
    table: Ints
    name: Bits
    child: Ints
    asked: Ints
    path: Ints


@compiled
def told_apart(
    flat: Graph,
    slot: Ints,
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
    slots = 4 * states.salt.shape[0]
    widest = int(np.diff(flat.first).max())
    room = max(ROOM * most, 2 * widest)
    told = _Told(
        np.zeros(most, np.int64), np.zeros(most, np.int64), np.zeros(most, np.int64),
        np.zeros(most, np.uint64), np.zeros(most, np.uint64), np.zeros(most + 1, np.int64),
        np.empty(room), np.empty(room, np.int64),
        np.full(4 * most, NOWHERE), np.zeros(4 * most, np.uint64),
        np.empty(slots, np.int64), np.full(slots, NOWHERE), np.empty(MOST_INSIDE, np.int64),
    )  # fmt: skip
    nodes, some_flat, work = _tell_apart(flat, slot, worth, values, least, states, grid, memory, limit, told)
    points = nodes
    for k in range(told.row[nodes]):
        points += told.leads[k] != NOWHERE
    more = len(flat.state) if some_flat else 0
    graph = _with_room(nodes + more, points + (len(flat.event) if some_flat else 0))
    _write_told(flat, nodes, told, graph)
    if some_flat:
        _write_flat_behind(flat, nodes, graph)
    return graph, work


@bare
def _tell_apart(
    flat: Graph,
    slot: Ints,
    worth: Floats,
    values: Floats,
    least: float,
    states: States,
    grid: Grid,
    memory: Memory,
    limit: int,
    told: _Told,
) -> tuple[int, bool, int]:
    """Go through the nodes in order; return how many there are, whether some are left flat, and the words."""
    at, parent, via, key, hard, row, reached, leads, table, name, child, asked, path = told
    key[0] = start_key(flat.state[0])
    row[1] = flat.first[1] - flat.first[0]
    for k in range(row[1]):
        reached[k] = 0.0
    nodes, dead, work, some_flat, n = 1, 0, 0, False, 0
    while n < nodes:
        first, many = flat.first[at[n]], row[n + 1] - row[n]
        work += POINT_WORK * many
        if work > limit:
            return 0, False, work
        depth = -1
        for k in range(many):
            here, point = row[n] + k, first + k
            leads[here] = NOWHERE
            if k:
                reached[here] = max(reached[here], reached[here - 1])
            e, after = flat.event[point], flat.after[point]
            if e == NOWHERE or reached[here] + worth[e] + values[after] <= least:
                continue
            one = slot[e]
            if asked[one] != n:
                asked[one] = n
                if depth < 0:
                    depth = _path_to(n, parent, via, path)
                child[one], nodes, dead, looked = _child_of(
                    n, one, flat.node[after], depth, flat, states, grid, memory, told, nodes, dead
                )
                work += looked
            goal = child[one]
            if goal == OVER:
                leads[here], some_flat = OVER - 1 - after, True
            elif goal != DEAD:
                leads[here] = goal
                there = row[goal] + after - flat.first[at[goal]]
                reached[there] = max(reached[there], reached[here] + worth[e])
        n += 1
    return nodes, some_flat, work


@bare
def _child_of(
    n: int,
    slot: int,
    flat_node: int,
    depth: int,
    flat: Graph,
    states: States,
    grid: Grid,
    memory: Memory,
    told: _Told,
    nodes: int,
    dead: int,
) -> tuple[int, int, int, int]:
    """Return the node that a slot leads to, DEAD or OVER; then how many nodes and dead ones, and the words."""
    s, table, name, work = flat.state[told.at[n]], told.table, told.name, 0
    key, hard = key_after(told.key[n], told.hard[n], slot, s, states)
    label = mixed(key ^ mixed(hard + np.uint64(flat_node)))
    place = np.int64(label % np.uint64(len(table)))
    while table[place] != NOWHERE and name[place] != label:
        place = (place + 1) % len(table)
    if table[place] != NOWHERE:
        return table[place], nodes, dead, work
    if (slot // states.salt.shape[0]) % 2 == 1:
        told.path[depth] = slot
        verdict, looked = verdict_on(memory, key, told.path, depth + 1, states.floors[s], grid)
        work += BAG_WORK + looked
        if verdict == MISFIT:
            if dead < len(told.at):
                name[place], table[place] = label, DEAD
            return DEAD, nodes, dead + 1, work
    many = flat.first[flat_node + 1] - flat.first[flat_node]
    if nodes == len(told.at) or told.row[nodes] + many > len(told.reached):
        return OVER, nodes, dead, work
    name[place], table[place] = label, nodes
    told.at[nodes], told.parent[nodes], told.via[nodes] = flat_node, n, slot
    told.key[nodes], told.hard[nodes] = key, hard
    for k in range(told.row[nodes], told.row[nodes] + many):
        told.reached[k] = NEVER
    told.row[nodes + 1] = told.row[nodes] + many
    return nodes, nodes + 1, dead, work


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


@bare
def _write_told(flat: Graph, nodes: int, told: _Told, graph: Graph) -> None:
    """Write the nodes told apart, with the points that lead somewhere; flat ones follow behind them."""
    point = 0
    for n in range(nodes):
        graph.state[n], graph.end[n], graph.known[n] = flat.state[told.at[n]], flat.end[told.at[n]], True
        for k in range(told.row[n], told.row[n + 1]):
            if told.leads[k] != NOWHERE:
                graph.event[point] = flat.event[flat.first[told.at[n]] + k - told.row[n]]
                graph.after[point], graph.node[point] = told.leads[k], n
                point += 1
        graph.node[point] = n
        point += 1
        graph.first[n + 1] = point
    for before in range(point):
        goal = graph.after[before]
        if goal < OVER:
            graph.after[before] = point + OVER - 1 - goal
        elif graph.event[before] != NOWHERE:
            graph.after[before] = _point_past(graph.event[before], goal, graph)


@bare
def _write_flat_behind(flat: Graph, nodes: int, graph: Graph) -> None:
    """Write all flat nodes behind those that are told apart."""
    since = graph.first[nodes]
    for n in range(len(flat.state)):
        graph.state[nodes + n], graph.end[nodes + n] = flat.state[n], flat.end[n]
        graph.first[nodes + n + 1] = since + flat.first[n + 1]
    for point in range(len(flat.event)):
        graph.event[since + point], graph.node[since + point] = flat.event[point], nodes + flat.node[point]
        if flat.event[point] != NOWHERE:
            graph.after[since + point] = since + flat.after[point]

"""Where the walks from one set of floor bags can be, and a bound on what they bring; compiled.

A walk from one set of floor bags goes through few of all states, and few of those bring it above what is
known. So each start has a graph of its own, of the events that it may take: first of flat states, then of
ways to get there as far as places can tell them apart (`walk_apart`). Prices of items are softened on it once
more. It calls `kernels`, `sweep_kernels` and `walk_places`: after a change there, `__pycache__` has to go.
"""

from typing import NamedTuple

import numpy as np

from ramet.optimise.kernels import MISFIT, NOWHERE, ZERO, Flags, Grid, Ints, bare, compiled
from ramet.optimise.sweep_kernels import NEVER, Events, Floats, States
from ramet.optimise.walk_places import MOST_INSIDE, Memory, start_key, verdict_on

POINT_WORK = 1
"""What it costs to value a point, in words looked at."""
STALE = 4
"""Steps without gain before they get shorter."""


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
    low, high = int(graph.first[node]), int(graph.first[node + 1]) - 1
    while low < high:
        middle = (low + high) // 2
        if graph.event[middle] > event:
            high = middle
        else:
            low = middle + 1
    return low


@compiled
def with_room(nodes: int, points: int) -> Graph:
    """Return a graph of so many nodes and points, yet to be written."""
    return Graph(
        np.full(points, NOWHERE), np.full(points, NOWHERE), np.empty(points, np.int64),
        np.zeros(nodes + 1, np.int64), np.empty(nodes, np.int64), np.empty(nodes), np.zeros(nodes, np.bool_),
    )  # fmt: skip


@bare
def put_point(graph: Graph, point: int, node: int, event: int, after: int) -> int:
    """Write a point of a node, and the node that it leads to; return the next point."""
    graph.event[point], graph.node[point], graph.after[point] = event, node, after
    return point + 1


@bare
def close_node(graph: Graph, point: int, node: int) -> int:
    """Write the last point of a node; return the next one."""
    graph.first[node + 1] = put_point(graph, point, node, NOWHERE, NOWHERE)
    return point + 1


@bare
def find_points(graph: Graph) -> None:
    """Turn the nodes that points lead to into the points there."""
    for point in range(len(graph.event)):
        if graph.event[point] != NOWHERE:
            graph.after[point] = _point_past(graph.event[point], graph.after[point], graph)


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
    graph = with_room(nodes, points)
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
                after = found.number[states.after[found.state[n], slot[e] % ways]]
                point = put_point(graph, point, n, e, after)
        point = close_node(graph, point, n)
    find_points(graph)


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
    key, depth = start_key(start), ZERO
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
        np.full(points, NEVER),
        np.full(points, NOWHERE),
        np.full(nodes, NOWHERE),
        np.empty(MOST_INSIDE, np.int64),
    )
    left, work = _reach(graph, worth, values, least, states, grid, memory, kept)
    many = left
    for point in range(points):
        many += kept.leads[point] != NOWHERE and kept.number[kept.leads[point]] != NOWHERE
    found = with_room(left, many)
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
) -> tuple[int, int]:
    """Follow walks from the start and number the nodes that they keep; return how many, and the words."""
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
    return left, work


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
                point = put_point(found, point, m, graph.event[old], kept.number[kept.leads[old]])
        point = close_node(found, point, m)
    find_points(found)


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
def _total(price: Floats) -> float:
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


class OnTrial(NamedTuple):
    """Prices on trial, how often each item counts at these, and what each event is worth."""

    price: Floats
    counts: Floats
    worth: Floats


def on_trial(price: Floats, events: Events) -> OnTrial:
    """Return room to change these prices."""
    return OnTrial(price.copy(), np.zeros(len(price)), np.empty(len(events.item)))


@bare
def soften(
    graph: Graph,
    events: Events,
    profit: Floats,
    price: Floats,
    least: float,
    most_steps: int,
    values: Floats,
    room: OnTrial,
) -> tuple[float, int]:
    """Charge items that the best walk takes twice (as `sweep` does); return the bound and the words.

    `price` and `values` become those of the bound.
    """
    trial, counts, worth = room
    best, scale, stale, work = np.inf, 0.3, 0, 0
    last = False
    for k in range(most_steps):
        worths(profit, trial, events, worth)
        work += value(graph, worth, values)
        bound = values[0] + _total(trial)
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

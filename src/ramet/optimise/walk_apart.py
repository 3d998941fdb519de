"""The ways of a walk from one set of floor bags as far as places can tell them apart, as a graph; compiled.

It calls `kernels`, `walk_places` and `walk_graphs`: after a change there, `__pycache__` has to go.
"""

from typing import NamedTuple

import numpy as np

from ramet.optimise.kernels import MISFIT, NOWHERE, ZERO, Bits, Grid, Ints, bare, compiled, mixed
from ramet.optimise.sweep_kernels import NEVER, Floats, States
from ramet.optimise.walk_graphs import POINT_WORK, Graph, close_node, find_points, put_point, with_room
from ramet.optimise.walk_places import BAG_WORK, MOST_INSIDE, Memory, key_after, start_key, verdict_on

ROOM = 16
"""How many points there is room for, by node that is told apart."""
DEAD, OVER = -2, -3
"""No node but ways without places, or more than are told apart; flat nodes are below these."""


class _Told(NamedTuple):
    """Nodes told apart: the flat node each is `at`, from which `parent` and `via` which slot; their keys.

    Its points, the flat ones all of them, are from `row[node]` on: how much is `reached` there, and which
    node they lead to (or the flat one, counted down from OVER - 1). `table[place]` is the node of that
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
    graph = with_room(nodes + more, points + (len(flat.event) if some_flat else 0))
    _write_told(flat, nodes, told, graph)
    if some_flat:
        _write_flat_behind(flat, nodes, graph)
    find_points(graph)
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
    at, parent, via, row = told.at, told.parent, told.via, told.row
    reached, leads, child, asked, path = told.reached, told.leads, told.child, told.asked, told.path
    told.key[0] = start_key(flat.state[0])
    row[1] = flat.first[1] - flat.first[0]
    for k in range(row[1]):
        reached[k] = 0.0
    nodes, dead, n = ZERO + 1, ZERO, ZERO
    work, some_flat = 0, False
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
                leads[here], some_flat = OVER - 1 - flat.node[after], True
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
    """Return the node that a slot leads to, DEAD or OVER; the nodes and dead ones by now; and the words."""
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
            goal = told.leads[k]
            if goal != NOWHERE:
                event = flat.event[flat.first[told.at[n]] + k - told.row[n]]
                point = put_point(graph, point, n, event, goal if goal > OVER else nodes + OVER - 1 - goal)
        point = close_node(graph, point, n)


@bare
def _write_flat_behind(flat: Graph, nodes: int, graph: Graph) -> None:
    """Write all flat nodes behind those that are told apart."""
    point = graph.first[nodes]
    for n in range(len(flat.state)):
        graph.state[nodes + n], graph.end[nodes + n] = flat.state[n], flat.end[n]
        for old in range(flat.first[n], flat.first[n + 1] - 1):
            point = put_point(graph, point, nodes + n, flat.event[old], nodes + flat.node[flat.after[old]])
        point = close_node(graph, point, nodes + n)

"""Trades between boxes, compiled: an item comes or moves, others make room, and every rule holds after.

It calls `kernels`: after a change there, `__pycache__` has to go. It speaks in numbered arrays only, to which
`trading` gives their meaning.
"""

from typing import Any, NamedTuple

import numpy as np

from ramet.optimise.kernels import (
    HELD,
    NOWHERE,
    Bits,
    Flags,
    Flats,
    Grid,
    Ints,
    bare,
    compiled,
    find_places,
)

STEP_WORK = 200
"""What a step of trading costs beside its searches, in words looked at."""
TALLEST_MM = 10**9
MOST_WORK: Any = np.int64(40_000)
"""Words looked at for one box of a trade; what takes longer is left: another trade costs less."""


class Ways(NamedTuple):
    """Every way for an item to go, by number: see `options.Option`; `bears`: a board may lie over it."""

    kind: Ints
    upper: Flags
    under_mm: Ints
    room_mm: Ints
    soft: Flags
    mass_g: Ints
    carries_g: Ints
    bears: Flags
    mark: Bits


class Things(NamedTuple):
    """Every item: what it counts in trading (`value`) and for its goal (`worth`), and what binds it.

    Its ways into box b are `way[first[item, b] : first[item, b] + many[item, b]]`; it excludes the items
    `other[since[item] : since[item + 1]]`.
    """

    value: Ints
    rank: Ints
    worth: Ints
    weight: Ints
    line: Ints
    strain: Ints
    must: Flags
    uses: Ints
    first: Ints
    many: Ints
    way: Ints
    since: Ints
    other: Ints


class Limits(NamedTuple):
    """What all items share: pieces wanted by line, caps by resource, mass by box, and which rules are on."""

    wanted: Ints
    caps: Ints
    most_g: Ints
    spread_musts: bool
    spread_strain: Flags
    soft_never_above: bool


class State(NamedTuple):
    """Where each item is (box or NOWHERE) and which way it took; `seed` is one changing number."""

    where: Ints
    way: Ints
    seed: Bits


@compiled
def clashes(taken: Ints, ways: Ways, soft_never_above: bool) -> Flags:
    """Return which ways of one box can't be over each other: by height, by class, or on one level."""
    n = len(taken)
    found = np.zeros((n, n), dtype=np.bool_)
    for a in range(n):
        for b in range(n):
            if a == b:
                continue
            low, high = taken[a], taken[b]
            if ways.upper[low] == ways.upper[high]:
                found[a, b] = True
                continue
            if ways.upper[low]:
                low, high = high, low
            tall = ways.under_mm[low] > ways.room_mm[high] or not ways.bears[low]
            found[a, b] = tall or (soft_never_above and ways.soft[high] and not ways.soft[low])
    return found


@bare
def _has_key(keys: Bits, key: Any) -> bool:
    at = np.searchsorted(keys, key)
    return bool(at < len(keys) and keys[at] == key)


@bare
def may_fit(taken: Ints, ways: Ways, flats: Flats, room: Ints) -> bool:
    """Tell whether all sets of bags that are beside each other are known to fit so; or nothing is known.

    On the way up, floor bags leave where a board may lie over them, and upper bags join where theirs may lie.
    `room` has two rows, a number for each bag.
    """
    n = len(taken)
    height, order = room[0], room[1]
    key = np.uint64(0)
    for a in range(n):
        way = taken[a]
        word = flats.word[ways.kind[way]]
        if word == 0:
            return True
        height[a] = 2 * ways.room_mm[way] + 1
        if not ways.upper[way]:
            height[a] = 2 * (ways.under_mm[way] if ways.bears[way] else TALLEST_MM)
            key += word
        b = a
        while b > 0 and height[order[b - 1]] > height[a]:
            order[b] = order[b - 1]
            b -= 1
        order[b] = a
    if key != 0 and not _has_key(flats.key, key):
        return False
    for rank in range(n):
        way = taken[order[rank]]
        word = flats.word[ways.kind[way]]
        if ways.upper[way]:
            key += word
            if not _has_key(flats.key, key):
                return False
        else:
            key -= word
    return True


@bare
def _is_borne(taken: Ints, ways: Ways, limits: Limits, b: int) -> bool:
    """Tell whether a box bears its mass, and bags on its floor could bear what stands on boards."""
    mass, above, borne = 0, 0, 0
    for way in taken:
        mass += ways.mass_g[way]
        if ways.upper[way]:
            above += ways.mass_g[way]
        elif ways.bears[way]:
            borne += ways.carries_g[way]
    if mass > limits.most_g[b] or above > borne:
        return False
    for high in taken:
        if not ways.upper[high]:
            continue
        some = False
        for low in taken:
            if (
                not ways.upper[low]
                and ways.bears[low]
                and ways.carries_g[low] > 0
                and ways.under_mm[low] <= ways.room_mm[high]
                and (ways.soft[low] or not (limits.soft_never_above and ways.soft[high]))
            ):
                some = True
                break
        if not some:
            return False
    return True


@bare
def _next(seed: Bits) -> int:
    """Return a number below 2**31 by chance (xorshift64*, Marsaglia 2003, Vigna 2016; from memory)."""
    x = seed[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    seed[0] = x
    return int((x * np.uint64(2685821657736338717)) >> np.uint64(33))


@bare
def _count(where: Ints, things: Things, lines: Ints, used: Ints, key: Ints) -> None:
    """Count what goes: pieces by line, amounts by resource, and the goals."""
    lines[:] = 0
    used[:] = 0
    key[:] = 0
    for i in range(len(where)):
        if where[i] != NOWHERE:
            lines[things.line[i]] += things.weight[i]
            key[things.rank[i]] += things.worth[i]
            for r in range(len(used)):
                used[r] += things.uses[i, r]


@bare
def _rides_alone(of: Any, group: Any, where: Ints, things: Things) -> bool:
    """Tell whether two or more pieces of a group go, all in one box."""
    box, pieces = NOWHERE, 0
    for i in range(len(where)):
        if where[i] != NOWHERE and of[i] == group:
            if box not in (NOWHERE, where[i]):
                return False
            box = where[i]
            pieces += things.weight[i]
    return pieces > 1


@bare
def _opens_a_box(where: Ints, moved: Ints) -> bool:
    """Tell whether all in some box came by this trade."""
    for i in moved:
        if where[i] == NOWHERE:
            continue
        others = 0
        for box in where:
            others += box == where[i]
        for k in moved:
            others -= where[k] == where[i]
        if others == 0:
            return True
    return False


@bare
def _is_spread(where: Ints, moved: Ints, things: Things, limits: Limits) -> bool:
    """Tell whether the risk is spread for all whom a trade touched: all, where a box was not used before."""
    first = NOWHERE
    several = False
    for box in where:
        if box != NOWHERE:
            if first not in (NOWHERE, box):
                several = True
                break
            first = box
    if not several:
        return True
    if limits.spread_musts and _rides_alone(things.must, True, where, things):
        return False
    every = _opens_a_box(where, moved)
    for k in range(len(where) if every else len(moved)):
        strain = things.strain[k if every else moved[k]]
        if limits.spread_strain[strain] and _rides_alone(things.strain, strain, where, things):
            return False
    return True


@compiled
def _has_places(taken: Ints, ways: Ways, soft_never_above: bool, grid: Grid) -> tuple[bool, int]:
    found, _, work = find_places(ways.kind[taken], clashes(taken, ways, soft_never_above), grid, MOST_WORK)
    return found == HELD, work


@bare
def _box_holds(
    b: int, state: State, ways: Ways, limits: Limits, grid: Grid, flats: Flats, banned: Bits, room: Ints
) -> tuple[bool, int]:
    """Return whether a box holds what is in it, and the words looked at; undecided counts as no."""
    inside, n = room[2], 0
    mark = np.uint64(0)
    for i in range(len(state.where)):
        if state.where[i] == b:
            inside[n] = state.way[i]
            mark ^= ways.mark[state.way[i]]
            n += 1
    taken = inside[:n]
    for one in banned:
        if one == mark:
            return False, n
    if not _is_borne(taken, ways, limits, b) or not may_fit(taken, ways, flats, room):
        return False, n
    return _has_places(taken, ways, limits.soft_never_above, grid)


class _Log(NamedTuple):
    """What a trade changed, to be taken back: items, their boxes and ways before; `length[0]` entries.

    No trade moves an item twice, so there is room for all.
    """

    item: Ints
    where: Ints
    way: Ints
    length: Ints


@bare
def _move(state: State, log: _Log, item: int, box: int, way: int, things: Things) -> int:
    """Move an item and note it; return what that changes in value."""
    n = log.length[0]
    log.item[n], log.where[n], log.way[n] = item, state.where[item], state.way[item]
    log.length[0] = n + 1
    change = 0
    if state.where[item] == NOWHERE and box != NOWHERE:
        change = things.value[item]
    elif state.where[item] != NOWHERE and box == NOWHERE:
        change = -things.value[item]
    state.where[item], state.way[item] = box, way
    return change


@bare
def _take_back(state: State, log: _Log) -> None:
    for n in range(log.length[0] - 1, -1, -1):
        state.where[log.item[n]], state.way[log.item[n]] = log.where[n], log.way[n]
    log.length[0] = 0


@bare
def _was_moved(log: _Log, item: int) -> bool:
    times = 0
    for n in range(log.length[0]):
        times += log.item[n] == item
    return times > 0


@bare
def _some_in(state: State, log: _Log, b: int) -> int:
    """Return an item of a box by chance that this trade has not moved yet; NOWHERE if there is none."""
    found, count = NOWHERE, 0
    for i in range(len(state.where)):
        if state.where[i] == b and not _was_moved(log, i):
            count += 1
            if _next(state.seed) % count == 0:
                found = i
    return found


@bare
def _some_way(state: State, item: int, b: int, things: Things) -> int:
    """Return a way of an item into a box by chance; NOWHERE if there is none."""
    count = things.many[item, b]
    if count == 0:
        return NOWHERE
    return int(things.way[things.first[item, b] + _next(state.seed) % count])


@bare
def _make_way(state: State, log: _Log, item: int, lines: Ints, things: Things, limits: Limits) -> int:
    """Take out what excludes an item, and others of its line while that has enough; return the change."""
    change = 0
    for n in range(things.since[item], things.since[item + 1]):
        other = things.other[n]
        if state.where[other] != NOWHERE:
            change += _move(state, log, other, NOWHERE, NOWHERE, things)
    line = things.line[item]
    many = lines[line] + things.weight[item]
    for n in range(log.length[0]):
        if state.where[log.item[n]] == NOWHERE and things.line[log.item[n]] == line:
            many -= things.weight[log.item[n]]
    while many > limits.wanted[line]:
        leaving, count = NOWHERE, 0
        for i in range(len(state.where)):
            if i != item and state.where[i] != NOWHERE and things.line[i] == line:
                count += 1
                if _next(state.seed) % count == 0:
                    leaving = i
        if leaving == NOWHERE:
            break
        change += _move(state, log, leaving, NOWHERE, NOWHERE, things)
        many -= things.weight[leaving]
    return change


@bare
def _offer(state: State, log: _Log, boxes: int, lines: Ints, things: Things, limits: Limits) -> int:
    """Change the state by one trade: an item comes or moves, none, one or two others make room.

    Of those, some change place with it, some go to another box, the rest are left behind. Returns the change
    in value.
    """
    item = _next(state.seed) % len(state.where)
    b = _next(state.seed) % boxes
    way = _some_way(state, item, b, things)
    before = state.where[item]
    if way == NOWHERE or (before == b and state.way[item] == way):
        return 0
    change = 0
    if before == NOWHERE:
        change += _make_way(state, log, item, lines, things, limits)
    change += _move(state, log, item, b, way, things)
    dice = _next(state.seed) % 100
    for _ in range(2 if dice < 20 else 1 if dice < 70 else 0):
        other = _some_in(state, log, b)
        if other == NOWHERE:
            break
        dice = _next(state.seed) % 100
        goal = NOWHERE
        if dice < 30 and before != NOWHERE:
            goal = before
        elif dice < 50:
            goal = _next(state.seed) % boxes
        its = _some_way(state, other, goal, things) if goal != NOWHERE else NOWHERE
        change += _move(state, log, other, goal if its != NOWHERE else NOWHERE, its, things)
    return change


@bare
def _stands(
    state: State,
    log: _Log,
    boxes: int,
    things: Things,
    ways: Ways,
    limits: Limits,
    grid: Grid,
    flats: Flats,
    banned: Bits,
    room: Ints,
) -> tuple[bool, int]:
    """Return whether every rule holds for what a trade touched, and the words looked at."""
    moved = log.item[: log.length[0]]
    work = 0
    if not _is_spread(state.where, moved, things, limits):
        return False, work
    for b in range(boxes):
        touched = False
        for n in range(log.length[0]):
            if log.where[n] == b or state.where[log.item[n]] == b:
                touched = True
        if touched:
            holds, looked = _box_holds(b, state, ways, limits, grid, flats, banned, room)
            work += looked
            if not holds:
                return False, work
    return True, work


@bare
def _none_above(counts: Ints, most: Ints) -> bool:
    above = 0
    for k in range(len(counts)):
        above += counts[k] > most[k]
    return above == 0


@bare
def _is_better(key: Ints, best: Ints) -> bool:
    for k in range(len(key)):
        if key[k] != best[k]:
            return bool(key[k] > best[k])
    return False


class Desk(NamedTuple):
    """Room to trade: what goes by line, by resource and by goal, the best by goal; what a trade changed.

    `room` has three rows, a number for each item.
    """

    lines: Ints
    used: Ints
    key: Ints
    top: Ints
    log: _Log
    room: Ints


def desk_for(items: int, limits: Limits) -> Desk:
    """Return room to trade so many items."""
    changes = np.empty((3, items), np.int64)
    return Desk(
        lines=np.zeros_like(limits.wanted),
        used=np.zeros_like(limits.caps),
        key=np.zeros(3, np.int64),
        top=np.zeros(3, np.int64),
        log=_Log(changes[0], changes[1], changes[2], np.zeros(1, np.int64)),
        room=np.empty((3, items), np.int64),
    )


@bare
def trade(
    state: State,
    best: State,
    things: Things,
    ways: Ways,
    limits: Limits,
    grid: Grid,
    flats: Flats,
    banned: Bits,
    heat: tuple[int, int],
    span: tuple[int, int, int],
    desk: Desk,
) -> int:
    """Trade on until `span[1]` of `span[2]` words were looked at, from `span[0]`; return how many were.

    A trade stands when every rule holds and it loses no more value than the heat, which falls from `heat[0]`
    to `heat[1]` (threshold accepting, Dueck & Scheuer 1990, J. Comput. Phys. 90:161-175, from memory).
    """
    boxes = len(limits.most_g)
    work, until, whole = span
    lines, used, key, top, log, room = desk
    _count(best.where, things, lines, used, top)
    _count(state.where, things, lines, used, key)
    while work < until:
        work += STEP_WORK
        log.length[0] = 0
        change = _offer(state, log, boxes, lines, things, limits)
        if log.length[0] == 0:
            continue
        if change < -(heat[0] + (heat[1] - heat[0]) * work // whole):
            _take_back(state, log)
            continue
        _count(state.where, things, lines, used, key)
        stands = _none_above(used, limits.caps) and _none_above(lines, limits.wanted)
        if stands:
            stands, looked = _stands(state, log, boxes, things, ways, limits, grid, flats, banned, room)
            work += looked
        if not stands:
            _take_back(state, log)
            _count(state.where, things, lines, used, key)
        elif _is_better(key, top):
            for k in range(3):
                top[k] = key[k]
            for i in range(len(state.where)):
                best.where[i], best.way[i] = state.where[i], state.way[i]
    return work

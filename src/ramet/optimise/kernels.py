"""The innermost loops, compiled to machine code: places for bags on a plane, and trades between boxes.

Compiled code stays close together: what is kept on disk does not notice a change of what it calls in another
file (`sweep_kernels` calls `find_places` and `mixed`). It speaks in numbered arrays only; `places` and
`trading` give them their meaning.
"""

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
from numba import njit
from numpy.typing import NDArray

Function = TypeVar("Function", bound=Callable[..., Any])
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Bits = NDArray[np.uint64]
"""Sets of places: bit p of word w is place 64 w + p."""

UNDECIDED, HELD, MISFIT = 0, 1, 2
NOWHERE = -1
STEP_WORK = 200
"""What a step of trading costs beside its searches, in words looked at."""
START_WORK = 30
"""What a search costs before its first step, for each pair of bags."""
TALLEST_MM = 10**9
MOST_WORK: Any = np.int64(40_000)
"""Words looked at for one box of a trade; what takes longer is left: another trade costs less."""
ZERO: Any = np.int64(0)
"""Unlike a constant of Python's own it does not make numba compile a function for that value alone."""


def compiled(function: Function) -> Function:
    """Return a function compiled at its first call, and kept on disk where a folder may be written to."""
    return _compiled(function, counts_users=True)


def bare(function: Function) -> Function:
    """Return one that makes no arrays and returns none, compiled: it need not count who uses an array.

    That count is kept at each look into a named tuple otherwise, and takes half of the time and more.
    """
    return _compiled(function, counts_users=False)


def _compiled(function: Function, *, counts_users: bool) -> Function:
    how: dict[str, Any] = {"nogil": True, "_nrt": counts_users}
    try:
        return cast("Function", njit(cache=True, **how)(function))
    except RuntimeError:  # neither the package's folder nor the user's may be written to
        return cast("Function", njit(**how)(function))


class Grid(NamedTuple):
    """Where bags of each kind may stand on a plane, and what each place takes from others.

    `may[kind]` are the places of a kind, `half[kind]` those in the nearer half wherever the plane is its own
    mirror image, `area[kind]` its footprint. `blocks[first[kind] + place, column[other]]` are the places of
    another kind on the same plane that overlap.
    """

    may: Bits
    half: Bits
    area: Ints
    first: Ints
    column: Ints
    blocks: Bits


class Flats(NamedTuple):
    """Sets of bags that are known to fit side by side: `key` has the sums of their words in order.

    `word[kind]` is 0 where a plane is not known; then nothing is said.
    """

    word: Bits
    key: Bits


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


@bare
def _ones(word: Any) -> Any:
    """Return how many bits of a word are set."""
    word = word - ((word >> np.uint64(1)) & np.uint64(0x5555555555555555))
    word = (word & np.uint64(0x3333333333333333)) + ((word >> np.uint64(2)) & np.uint64(0x3333333333333333))
    word = (word + (word >> np.uint64(4))) & np.uint64(0x0F0F0F0F0F0F0F0F)
    return (word * np.uint64(0x0101010101010101)) >> np.uint64(56)


@bare
def mixed(x: Any) -> Any:
    """Return a word scrambled (the end of splitmix64, from memory)."""
    word = np.uint64(x)
    word = (word ^ (word >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    word = (word ^ (word >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return word ^ (word >> np.uint64(31))


@bare
def _take_first(words: Bits) -> int:
    """Remove the first place of a set and return it; NOWHERE when it is empty."""
    for w in range(len(words)):
        if words[w]:
            lowest = words[w] & (~words[w] + np.uint64(1))
            words[w] ^= lowest
            return w * 64 + int(_ones(lowest - np.uint64(1)))
    return NOWHERE


@bare
def _drop_up_to(words: Bits, place: int) -> None:
    """Remove all places up to one from a set."""
    word = place // 64
    for w in range(word):
        words[w] = np.uint64(0)
    shift = np.uint64(place % 64)
    words[word] = (words[word] >> shift >> np.uint64(1)) << np.uint64(1) << shift


@compiled
def _twins(kinds: Ints, clash: Flags) -> Ints:
    """Return for each bag the first that is just like it: of its kind, and against the same others."""
    n = len(kinds)
    first = np.arange(n)
    for a in range(n):
        for b in range(a):
            if kinds[a] != kinds[b] or not clash[a, b]:
                continue
            same = True
            for c in range(n):
                if c not in (a, b) and clash[a, c] != clash[b, c]:
                    same = False
                    break
            if same:
                first[a] = first[b]
                break
    return first


@bare
def _open_places(found: Bits, kinds: Ints, twin: Ints, grid: Grid) -> None:
    """Write the places of each bag; the largest of those without a twin stands in the nearer half."""
    n = len(kinds)
    single = -1
    for a in range(n):
        for w in range(found.shape[1]):
            found[a, w] = grid.may[kinds[a], w]
        alone = True
        for b in range(n):
            if a != b and twin[a] == twin[b]:
                alone = False
        if alone and (single < 0 or grid.area[kinds[a]] > grid.area[kinds[single]]):
            single = a
    if single >= 0:
        for w in range(found.shape[1]):
            found[single, w] &= grid.half[kinds[single], w]


@bare
def _tightest(places: Bits, placed: Flags, kinds: Ints, twin: Ints, grid: Grid) -> int:
    """Return the bag with the fewest places left, the larger of two; of twins the first."""
    n = len(kinds)
    best, fewest, size = -1, 1 << 30, -1
    for a in range(n):
        if placed[a]:
            continue
        first = True
        for b in range(a):
            if not placed[b] and twin[b] == twin[a]:
                first = False
                break
        if not first:
            continue
        count = 0
        for w in range(places.shape[1]):
            count += int(_ones(places[a, w]))
        area = grid.area[kinds[a]]
        if count < fewest or (count == fewest and area > size):
            best, fewest, size = a, count, area
    return best


@bare
def _narrow(
    here: Bits,
    after: Bits,
    placed: Flags,
    bag: int,
    place: int,
    kinds: Ints,
    clash: Flags,
    twin: Ints,
    grid: Grid,
) -> bool:
    """Write what is left to the others once a bag has its place; False when one of them has none left."""
    row = grid.first[kinds[bag]] + place
    for b in range(len(kinds)):
        if placed[b]:
            continue
        column = grid.column[kinds[b]]
        for w in range(here.shape[1]):
            after[b, w] = here[b, w] & ~grid.blocks[row, column, w] if clash[bag, b] else here[b, w]
        if twin[b] == twin[bag]:
            _drop_up_to(after[b], place)
        some = np.uint64(0)
        for w in range(here.shape[1]):
            some |= after[b, w]
        if some == 0:
            return False
    return True


@compiled
def find_places(kinds: Ints, clash: Flags, grid: Grid, limit: int) -> tuple[int, Ints, int]:
    """Return whether bags fit, a place for each, and the words looked at; UNDECIDED past the limit.

    Bags that clash are beside each other. Each step takes the bag with the fewest places left.
    """
    n, words = len(kinds), grid.may.shape[1]
    at = np.full(n, NOWHERE)
    twin = _twins(kinds, clash)
    places, left = np.empty((n + 1, n, words), dtype=np.uint64), np.empty((n, words), dtype=np.uint64)
    room = _PlacesRoom(at, twin, places, left, np.empty(n, dtype=np.int64), np.zeros(n, dtype=np.bool_))
    found, work = _search_places(kinds, clash, grid, limit, room)
    return found, at, work


class _PlacesRoom(NamedTuple):
    """Room for a search for places: of each bag `at`, its `twin`; by depth what is open, and who is next."""

    at: Ints
    twin: Ints
    places: Bits
    left: Bits
    chosen: Ints
    placed: Flags


@bare
def _search_places(kinds: Ints, clash: Flags, grid: Grid, limit: int, room: _PlacesRoom) -> tuple[int, int]:
    at, twin, places, left, chosen, placed = room
    n = len(kinds)
    if n == 0:
        return HELD, 0
    _open_places(places[0], kinds, twin, grid)
    depth, work = 0, START_WORK * n * n
    down = True
    while depth >= 0:
        if down:
            if depth == n:
                return HELD, work
            chosen[depth] = _tightest(places[depth], placed, kinds, twin, grid)
            placed[chosen[depth]] = True
            for w in range(left.shape[1]):
                left[depth, w] = places[depth, chosen[depth], w]
            down = False
        bag = chosen[depth]
        place = _take_first(left[depth])
        if place == NOWHERE:
            placed[bag] = False
            depth -= 1
            continue
        work += (n - depth) * (left.shape[1] + 1)
        if work > limit:
            return UNDECIDED, work
        at[bag] = place
        if _narrow(places[depth], places[depth + 1], placed, bag, place, kinds, clash, twin, grid):
            depth += 1
            down = True
    return MISFIT, work


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

"""The innermost loops, compiled to machine code: places for bags on a plane.

What is kept on disk does not notice a change of what it calls in another file, and all other kernels call
these: after a change here, `__pycache__` has to go. They speak in numbered arrays only; `places` gives them
their meaning.
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
START_WORK = 30
"""What a search costs before its first step, for each pair of bags."""
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

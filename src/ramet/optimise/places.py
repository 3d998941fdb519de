"""Places for bags on a plane, numbered: the few corners that matter, and which of them exclude each other.

Bags left of a line can always be pushed left until they touch a wall, a body or another bag, and those right
of it to the right; so too to the front and back. So their ends are sums of sides counted from walls and edges
of bodies (Herz 1972, IBM J. Res. Dev. 16:462-469; from both ends, Cote & Iori 2018, INFORMS J. Comput.
30:646-661; both from memory): a few dozen to a few hundred places for each size of bag. Whether bags fit is
then a matter of bits.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ramet.optimise.floors import Flat, Plane, turned
from ramet.optimise.kernels import HELD, MISFIT, Bits, Flags, Flats, Grid, find_places
from ramet.optimise.problem import Rect

MOST_PLACES = 4000
"""With more places for one size of bag than this, or more bits in all than below, a plane is not numbered."""
MOST_BITS = 400_000_000

WORDS_PER_S = 300_000_000
"""Words that a search looks at in a second, measured on one core: what it costs in deterministic seconds."""

Places = NDArray[np.int64]
"""Rows of x, y, length and width [mm]."""

Shape = tuple[Plane, int, int]
"""The sides of a bag on its plane."""


@dataclass(frozen=True, slots=True)
class PlaceTable:
    """All places of bags of some kinds, each on its plane.

    `places[kind]` does not look at what is in the way; `grid` does. `flats` are sets known to fit.
    """

    kinds: dict[tuple[Plane, Flat], int]
    places: tuple[Places, ...]
    grid: Grid
    flats: Flats

    @classmethod
    def of(cls, wanted: Iterable[tuple[Plane, Flat]]) -> "PlaceTable | None":
        """Return the table for these kinds of bags, with and without bodies; None if too large."""
        whole = [(plane, (*turned(flat)[:2], mask)) for plane, flat in wanted for mask in (flat[2], 0)]
        kinds = {kind: number for number, kind in enumerate(dict.fromkeys(whole))}
        sides: dict[Plane, set[int]] = {}
        for plane, flat in kinds:
            sides.setdefault(plane, set()).update(flat[:2])
        corners = {plane: _corners(plane, sorted(steps)) for plane, steps in sides.items()}
        places: dict[Shape, Places] = {}
        for plane, (long, wide, _) in kinds:
            if (plane, long, wide) not in places:
                places[plane, long, wide] = _places(long, wide, *corners[plane])
        most = max(map(len, places.values()), default=0)
        words = max(1, -(-most // 64))
        columns = max(Counter(plane for plane, *_ in places).values(), default=0)
        rows = sum(map(len, places.values()))
        if not kinds or most > MOST_PLACES or rows * columns * words * 64 > MOST_BITS:
            return None
        each = tuple(places[plane, long, wide] for plane, (long, wide, _) in kinds)
        unknown = Flats(np.zeros(len(kinds), dtype=np.uint64), np.zeros(0, dtype=np.uint64))
        return cls(kinds, each, _grid(tuple(kinds), places, words), unknown)

    def knowing(self, sets: Mapping[Plane, Sequence[Sequence[Flat]]]) -> "PlaceTable":
        """Return this table with all sets of bags that fit side by side on some planes."""
        dice = np.random.default_rng(len(self.kinds))
        known = np.array([plane in sets for plane, _ in self.kinds])
        word = np.where(known, dice.integers(1, 2**63, len(known)), 0).astype(np.uint64)
        keys = [
            sum(int(word[self.number(plane, bag)]) for bag in bags) % 2**64
            for plane, every in sets.items()
            for bags in every
        ]
        return replace(self, flats=Flats(word, np.array(sorted(keys), dtype=np.uint64)))

    def fit(
        self, plane: Plane, bags: Sequence[Flat], clash: Flags | None, limit_s: float
    ) -> tuple[tuple[Rect, ...] | None, bool, float]:
        """Return where bags go, whether no answer means that they do not fit, and the seconds that it cost.

        `clash[a, b]` tells which bags must be beside each other; None: all of them.
        """
        numbers = np.array([self.number(plane, bag) for bag in bags], dtype=np.int64)
        if clash is None:
            clash = np.ones((len(bags), len(bags)), dtype=np.bool_)
        verdict, at, words = find_places(numbers, clash, self.grid, int(limit_s * WORDS_PER_S))
        if verdict != HELD:
            return None, verdict == MISFIT, words / WORDS_PER_S
        found = []
        for number, place in zip(numbers.tolist(), at.tolist(), strict=True):
            x, y, length, width = self.places[number][place].tolist()
            found.append((x, y, length, width))
        return tuple(found), True, words / WORDS_PER_S

    def number(self, plane: Plane, bag: Flat) -> int:
        """Return the number of a kind of bag."""
        return self.kinds[plane, turned(bag)]

    def knows(self, plane: Plane, bags: Iterable[Flat]) -> bool:
        """Tell whether all of these bags are of kinds that the table has."""
        return all((plane, turned(bag)) in self.kinds for bag in bags)


Axis = dict[int, list[int]]
"""Where the lower corner of a bag may be along one side of the plane, by the bag's own side there."""


def _corners(plane: Plane, sides: Sequence[int]) -> tuple[Axis, Axis]:
    along = [(body[0], body[0] + body[2]) for body in plane.bodies]
    across = [(body[1], body[1] + body[3]) for body in plane.bodies]
    return _axis(sides, plane.length, along), _axis(sides, plane.width, across)


def _axis(sides: Sequence[int], end: int, bodies: Sequence[tuple[int, int]]) -> Axis:
    """Return the fewest corners: left of a line counted from the left, right of it from the right.

    The line is beyond the middle of every bag that could stand in either half, so that pushing a bag never
    takes it out of the nearer half.
    """
    low = _sums(sides, end, {0, *(far for _, far in bodies)})
    high = [end - at for at in _sums(sides, end, {0, *(end - near for near, _ in bodies)})]
    middle = (end - sides[0]) // 2 + 1
    ways = [_parted(sides, low, high, line) for line in sorted({middle, *(at for at in low if at > middle)})]
    return min(ways, key=lambda axis: sum(map(len, axis.values())))


def _parted(sides: Sequence[int], low: Sequence[int], high: Sequence[int], line: int) -> Axis:
    most = max(high)
    return {
        side: sorted(
            {at for at in low if at < line and at + side <= most}
            | {top - side for top in high if top - side >= line}
        )
        for side in sides
    }


def _sums(steps: Sequence[int], end: int, edges: Iterable[int]) -> list[int]:
    """Return every sum of sides from one of the edges, short of the end."""
    found = set(edges)
    fresh = set(found)
    while fresh:
        fresh = {at + step for at in fresh for step in steps if at + step < end} - found
        found |= fresh
    return sorted(found)


def _places(long: int, wide: int, along: Axis, across: Axis) -> Places:
    found = [
        (x, y, length, width)
        for length, width in dict.fromkeys(((long, wide), (wide, long)))
        for x in along[length]
        for y in across[width]
    ]
    return np.array(found, dtype=np.int64).reshape(-1, 4)


def _grid(kinds: Sequence[tuple[Plane, Flat]], places: dict[Shape, Places], words: int) -> Grid:
    first, column, by_plane = _numbered(places)
    shapes = [(plane, long, wide) for plane, (long, wide, _) in kinds]
    blocks = np.zeros(
        (sum(map(len, places.values())), max(map(len, by_plane.values())), words), dtype=np.uint64
    )
    for here in by_plane.values():
        for a in here:
            for b in here:
                rows = slice(first[a], first[a] + len(places[a]))
                blocks[rows, column[b]] = _bits(_overlapping(places[a], places[b]), words)
    may = [
        _clear_of(places[shape], shape[0], flat[2]) for shape, (_, flat) in zip(shapes, kinds, strict=True)
    ]
    return Grid(
        may=np.array([_bits(flags[None, :], words)[0] for flags in may]),
        half=np.array([_bits(_nearer(places[shape], shape[0])[None, :], words)[0] for shape in shapes]),
        area=np.array([long * wide for _, long, wide in shapes], dtype=np.int64),
        first=np.array([first[shape] for shape in shapes], dtype=np.int64),
        column=np.array([column[shape] for shape in shapes], dtype=np.int64),
        blocks=blocks,
    )


def _numbered(
    places: dict[Shape, Places],
) -> tuple[dict[Shape, int], dict[Shape, int], dict[Plane, list[Shape]]]:
    """Return for each shape its first row and its number on its plane, and the shapes of each plane."""
    first: dict[Shape, int] = {}
    column: dict[Shape, int] = {}
    by_plane: dict[Plane, list[Shape]] = {}
    row = 0
    for shape, found in places.items():
        here = by_plane.setdefault(shape[0], [])
        first[shape], column[shape] = row, len(here)
        here.append(shape)
        row += len(found)
    return first, column, by_plane


def _overlapping(some: Places, others: Places) -> Flags:
    """Return which places (rows) overlap which others (columns)."""
    a, b = some[:, None, :], others[None, :, :]
    along = (a[..., 0] < b[..., 0] + b[..., 2]) & (b[..., 0] < a[..., 0] + a[..., 2])
    across = (a[..., 1] < b[..., 1] + b[..., 3]) & (b[..., 1] < a[..., 1] + a[..., 3])
    found: Flags = along & across
    return found


def _clear_of(places: Places, plane: Plane, mask: int) -> Flags:
    """Return which places overlap none of the bodies of a mask."""
    bodies = [body for k, body in enumerate(plane.bodies) if mask >> k & 1]
    blocked = _overlapping(places, np.array(bodies, dtype=np.int64).reshape(-1, 4))
    clear: Flags = np.logical_not(blocked.any(axis=1))
    return clear


def _nearer(places: Places, plane: Plane) -> Flags:
    """Return which places are in the nearer half along each side where the plane is its own mirror image."""
    x, y, length, width = places.T
    along, across = plane.mirrored
    found: Flags = np.ones(len(places), dtype=np.bool_)
    if along:
        found = np.logical_and(found, 2 * x + length <= plane.length)
    if across:
        found = np.logical_and(found, 2 * y + width <= plane.width)
    return found


def _bits(flags: Flags, words: int) -> Bits:
    """Return rows of flags as rows of words."""
    wide = np.zeros((len(flags), words * 64), dtype=np.uint8)
    wide[:, : flags.shape[1]] = flags
    found: Bits = np.packbits(wide, axis=1, bitorder="little").view(np.uint64)
    return found

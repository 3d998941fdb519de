"""Quick packing of upright bags on one plane: free rectangles are kept, the best fitting corner is taken.

Packs and other bodies stand on a floor or hang over it. Which of them are in the way of a bag depends on its
height, so each bag brings a mask: bit k tells that body k is in its way.
"""

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ramet.optimise.problem import Rect

SHAKES = 24

Flat = tuple[int, int, int]
"""What a plane sees of a bag: its two sides [mm], and the mask of bodies in its way."""


@dataclass(frozen=True, slots=True)
class Plane:
    """A floor: its size, and the places of bodies seen from above."""

    length: int
    width: int
    bodies: tuple[Rect, ...] = ()

    @property
    def mirrored(self) -> tuple[bool, bool]:
        """Whether the plane is its own mirror image: left and right exchanged, and front and back."""
        bodies = set(self.bodies)
        return (
            {(self.length - x - long, y, long, wide) for x, y, long, wide in bodies} == bodies,
            {(x, self.width - y - wide, long, wide) for x, y, long, wide in bodies} == bodies,
        )


def turned(bag: Flat) -> Flat:
    """Return a bag with its longer side along: it may turn, so which way it comes does not matter."""
    return max(bag[:2]), min(bag[:2]), bag[2]


@dataclass(slots=True)
class Free:
    """What is free of a rectangle, kept as maximal rectangles for every mask that was asked for."""

    whole: Rect
    bodies: tuple[Rect, ...]
    taken: list[Rect] = field(default_factory=list)
    by_mask: dict[int, list[Rect]] = field(default_factory=dict)

    def rects(self, mask: int) -> list[Rect]:
        """Return the maximal free rectangles for bags with this mask."""
        if mask not in self.by_mask:
            rects = [self.whole]
            for k, body in enumerate(self.bodies):
                if mask >> k & 1:
                    rects = carved(rects, body)
            for rect in self.taken:
                rects = carved(rects, rect)
            self.by_mask[mask] = rects
        return self.by_mask[mask]

    def take(self, rect: Rect) -> None:
        """Mark a rectangle as taken."""
        self.taken.append(rect)
        for mask, rects in self.by_mask.items():
            self.by_mask[mask] = carved(rects, rect)


def tightest(free: Iterable[Rect], length: int, width: int, low: bool = False) -> Rect | None:
    """Return the tightest (or lowest) corner for a rectangle, straight or turned."""
    best: tuple[int, int, int, Rect] | None = None
    turns = ((length, width),) if length == width else ((length, width), (width, length))
    for x, y, long, wide in free:
        for a, b in turns:
            if a <= long and b <= wide:
                slack = y + b if low else min(long - a, wide - b)
                if best is None or (slack, y, x) < best[:3]:
                    best = (slack, y, x, (x, y, a, b))
    return None if best is None else best[3]


def pack_quickly(plane: Plane, bags: Sequence[Flat]) -> list[Rect] | None:
    """Try some orders of placing; return a rectangle for each bag, or None when no order worked."""
    if sum(bag[0] * bag[1] for bag in bags) > plane.length * plane.width:
        return None
    orders = (
        lambda i: (-bags[i][0] * bags[i][1], i),
        lambda i: (-max(bags[i][:2]), -min(bags[i][:2]), i),
        lambda i: (-bags[i][2].bit_count(), -bags[i][0] * bags[i][1], i),
        lambda i: (-min(bags[i][:2]), -max(bags[i][:2]), i),
    )
    for order in orders:
        for low in (False, True):
            found = _pack_in_order(plane, bags, sorted(range(len(bags)), key=order), low)
            if found is not None:
                return found
    dice = random.Random(len(bags))
    shaken = list(range(len(bags)))
    for start in range(SHAKES):
        shaken.sort(key=lambda i: (-bags[i][0] * bags[i][1] * dice.uniform(0.5, 1.0), i))
        found = _pack_in_order(plane, bags, shaken, start % 2 == 0)
        if found is not None:
            return found
    return None


def _pack_in_order(plane: Plane, bags: Sequence[Flat], order: Sequence[int], low: bool) -> list[Rect] | None:
    free = Free((0, 0, plane.length, plane.width), plane.bodies)
    found: dict[int, Rect] = {}
    for index in order:
        length, width, mask = bags[index]
        rect = tightest(free.rects(mask), length, width, low)
        if rect is None:
            return None
        found[index] = rect
        free.take(rect)
    return [found[i] for i in range(len(bags))]


def carved(free: list[Rect], taken: Rect) -> list[Rect]:
    """Return the maximal free rectangles once a rectangle is taken out of them."""
    tx, ty, tl, tw = taken
    kept: list[Rect] = []
    cut: list[Rect] = []
    for rect in free:
        x, y, length, width = rect
        if tx >= x + length or tx + tl <= x or ty >= y + width or ty + tw <= y:
            kept.append(rect)
            continue
        if tx > x:
            cut.append((x, y, tx - x, width))
        if tx + tl < x + length:
            cut.append((tx + tl, y, x + length - tx - tl, width))
        if ty > y:
            cut.append((x, y, length, ty - y))
        if ty + tw < y + width:
            cut.append((x, ty + tw, length, y + width - ty - tw))
    if not cut:
        return kept
    return kept + _maximal(cut, kept)


def _maximal(cut: list[Rect], kept: list[Rect]) -> list[Rect]:
    unique = list(dict.fromkeys(cut))
    return [one for one in unique if not _is_inside_any(one, kept) and not _is_inside_any(one, unique)]


def _is_inside_any(one: Rect, others: Sequence[Rect]) -> bool:
    """Tell whether a rectangle lies inside another (the innermost loop of every quick packing)."""
    x, y, end_x, end_y = one[0], one[1], one[0] + one[2], one[1] + one[3]
    for other in others:
        if (
            other[0] <= x
            and other[1] <= y
            and other[0] + other[2] >= end_x
            and other[1] + other[3] >= end_y
            and other is not one
        ):
            return True
    return False

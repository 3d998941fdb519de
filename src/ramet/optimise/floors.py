"""Quick packing of upright bags on one floor: free rectangles are kept, the best fitting corner is taken.

A floor is the bottom of a box, or a board. Packs and other bodies stand on it or hang over it; a bag is in
the way of a body only when it reaches the body's underside, so low bags may stand under a lid pack.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass

from ramet.optimise.problem import Problem

SHAKES = 24

Rect = tuple[int, int, int, int]
"""x, y, length, width [mm]."""


@dataclass(frozen=True, slots=True)
class Hindrance:
    """A body over or on a floor; `under_mm` is the free height below it."""

    rect: Rect
    under_mm: int


@dataclass(frozen=True, slots=True)
class Ground:
    """A floor: its size, what hinders (by rising free height), and the height of its surface in the box."""

    length: int
    width: int
    hindrances: tuple[Hindrance, ...]
    base_mm: int = 0

    def reach(self, height_mm: int) -> int:
        """Return how many of the hindrances are in the way of a bag of this height (the first ones)."""
        return sum(1 for h in self.hindrances if height_mm > h.under_mm)


def ground(problem: Problem, bin_index: int, base_mm: int) -> Ground:
    """Return the floor whose surface is at `base_mm`: 0, or the top of a board."""
    box = problem.bins[bin_index]
    above = [body for body in box.blocked if body.at_mm[2] + body.size_mm[2] > base_mm]
    hindrances = [
        Hindrance((body.at_mm[0], body.at_mm[1], body.size_mm[0], body.size_mm[1]), body.at_mm[2] - base_mm)
        for body in above
    ]
    ordered = tuple(sorted(hindrances, key=lambda h: (h.under_mm, h.rect)))
    return Ground(box.size_mm[0], box.size_mm[1], ordered, base_mm)


@dataclass(slots=True)
class Floor:
    """A floor being filled. `free[k]` are the maximal free rectangles when the first k hindrances count."""

    ground: Ground
    free: list[list[Rect]]

    @classmethod
    def empty(cls, place: Ground) -> "Floor":
        """Return a floor with nothing but its hindrances."""
        free = [[(0, 0, place.length, place.width)]]
        for hindrance in place.hindrances:
            free.append(_carved(free[-1], hindrance.rect))
        return cls(place, free)

    def find(self, size: tuple[int, int], height_mm: int, low: bool = False) -> tuple[int, Rect] | None:
        """Return the tightest (or lowest) corner for a bag, straight or turned, with its slack, if any."""
        best: tuple[int, int, int, Rect] | None = None
        turns = (size,) if size[0] == size[1] else (size, (size[1], size[0]))
        for x, y, length, width in self.free[self.ground.reach(height_mm)]:
            for a, b in turns:
                if a <= length and b <= width:
                    slack = y + b if low else min(length - a, width - b)
                    candidate = (slack, y, x, (x, y, a, b))
                    if best is None or candidate < best:
                        best = candidate
        return None if best is None else (best[0], best[3])

    def take(self, rect: Rect) -> None:
        """Mark a rectangle as taken."""
        self.free = [_carved(level, rect) for level in self.free]


def pack_quickly(place: Ground, bags: Sequence[tuple[int, int, int]]) -> list[Rect] | None:
    """Try some orders of placing; return a rectangle for each bag, or None when no order worked."""
    if sum(bag[0] * bag[1] for bag in bags) > place.length * place.width:
        return None
    orders = (
        lambda i: (-bags[i][0] * bags[i][1], i),
        lambda i: (-max(bags[i][:2]), -min(bags[i][:2]), i),
        lambda i: (-place.reach(bags[i][2]), -bags[i][0] * bags[i][1], i),
        lambda i: (-min(bags[i][:2]), -max(bags[i][:2]), i),
    )
    for order in orders:
        for low in (False, True):
            found = _pack_in_order(place, bags, sorted(range(len(bags)), key=order), low)
            if found is not None:
                return found
    dice = random.Random(len(bags))
    shaken = list(range(len(bags)))
    for start in range(SHAKES):
        shaken.sort(key=lambda i: (-bags[i][0] * bags[i][1] * dice.uniform(0.5, 1.0), i))
        found = _pack_in_order(place, bags, shaken, start % 2 == 0)
        if found is not None:
            return found
    return None


def _pack_in_order(
    place: Ground, bags: Sequence[tuple[int, int, int]], order: Sequence[int], low: bool
) -> list[Rect] | None:
    floor = Floor.empty(place)
    found: dict[int, Rect] = {}
    for index in order:
        length, width, height = bags[index]
        spot = floor.find((length, width), height, low)
        if spot is None:
            return None
        found[index] = spot[1]
        floor.take(spot[1])
    return [found[i] for i in range(len(bags))]


def _carved(free: list[Rect], taken: Rect) -> list[Rect]:
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
    return [
        one
        for one in unique
        if not any(_inside(one, other) for other in kept)
        and not any(_inside(one, other) for other in unique if other != one)
    ]


def _inside(one: Rect, other: Rect) -> bool:
    return (
        one[0] >= other[0]
        and one[1] >= other[1]
        and one[0] + one[2] <= other[0] + other[2]
        and one[1] + one[3] <= other[1] + other[3]
    )

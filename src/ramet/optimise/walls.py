"""Sensitive bags off the walls: among bags of one footprint on one floor they take the inner places.

A preference, never a reason to leave something behind: only bags of the same footprint change places.
"""

from collections.abc import Sequence
from dataclasses import replace

from ramet.optimise.goals import Packing
from ramet.optimise.problem import Placed, Problem
from ramet.optimise.standing import put_up

NEAR_MM = 10
"""A bag that is nearer to a wall than this stands at it (planning value)."""


def at_wall(problem: Problem, placed: Placed) -> bool:
    """Return whether a bag stands at a wall of its box."""
    box = problem.bins[placed.bin].size_mm
    return any(min(placed.at_mm[k], box[k] - placed.at_mm[k] - placed.size_mm[k]) < NEAR_MM for k in (0, 1))


def sensitive_inwards(problem: Problem, packing: Packing) -> Packing:
    """Return the packing with sensitive bags at a wall changed for others of their footprint that are not.

    A change can make way for another, so it looks again until none is left.
    """
    while (better := _one_inwards(problem, packing)) is not None:
        packing = better
    return packing


def _one_inwards(problem: Problem, packing: Packing) -> Packing | None:
    for bag in packing.placed:
        if problem.items[bag.item].sensitive and at_wall(problem, bag):
            inner = next((p for p in packing.placed if _may_change(problem, packing, bag, p)), None)
            if inner is not None:
                return Packing(tuple(swapped(packing.placed, bag, inner)), packing.boards)
    return None


def _may_change(problem: Problem, packing: Packing, bag: Placed, inner: Placed) -> bool:
    """Tell whether two bags of one footprint may change places: both as high, or neither under anything."""
    if problem.items[inner.item].sensitive or at_wall(problem, inner):
        return False
    same_floor = (bag.bin, bag.at_mm[2]) == (inner.bin, inner.at_mm[2])
    if not same_floor or sorted(bag.size_mm[:2]) != sorted(inner.size_mm[:2]):
        return False
    changed = Packing(tuple(swapped(packing.placed, bag, inner)), packing.boards)
    return not put_up(problem, changed, [p.item for p in changed.placed if p.bin == bag.bin]).fallen


def swapped(placed: Sequence[Placed], one: Placed, other: Placed) -> list[Placed]:
    """Return the places with two bags changed for each other."""
    there = {
        one.item: replace(one, at_mm=other.at_mm, size_mm=(*other.size_mm[:2], one.size_mm[2])),
        other.item: replace(other, at_mm=one.at_mm, size_mm=(*one.size_mm[:2], other.size_mm[2])),
    }
    return [there.get(p.item, p) for p in placed]

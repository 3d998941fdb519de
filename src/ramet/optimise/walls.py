"""Sensitive bags off the walls: among bags of one footprint on one floor they take the inner places.

A preference, never a reason to leave something behind: only bags of the same footprint change places.
"""

from dataclasses import replace

from ramet.optimise.floors import ground
from ramet.optimise.goals import Packing
from ramet.optimise.problem import Placed, Problem


def at_wall(problem: Problem, placed: Placed) -> bool:
    """Return whether a bag touches a wall of its box."""
    box = problem.bins[placed.bin].size_mm
    return any(placed.at_mm[k] == 0 or placed.at_mm[k] + placed.size_mm[k] == box[k] for k in (0, 1))


def sensitive_inwards(problem: Problem, packing: Packing) -> Packing:
    """Return the packing with sensitive bags at a wall changed for others of their footprint that are not."""
    placed = list(packing.placed)
    for one, bag in enumerate(placed):
        if not (problem.items[bag.item].sensitive and at_wall(problem, bag)):
            continue
        for other, inner in enumerate(placed):
            if _may_change(problem, bag, inner):
                placed[one] = replace(bag, at_mm=inner.at_mm, size_mm=(*inner.size_mm[:2], bag.size_mm[2]))
                placed[other] = replace(inner, at_mm=bag.at_mm, size_mm=(*bag.size_mm[:2], inner.size_mm[2]))
                break
    return Packing(tuple(placed), packing.boards)


def _may_change(problem: Problem, bag: Placed, inner: Placed) -> bool:
    if problem.items[inner.item].sensitive or at_wall(problem, inner):
        return False
    same_floor = (bag.bin, bag.at_mm[2]) == (inner.bin, inner.at_mm[2])
    if not same_floor or sorted(bag.size_mm[:2]) != sorted(inner.size_mm[:2]):
        return False
    place = ground(problem, bag.bin, bag.at_mm[2])
    return place.reach(bag.size_mm[2]) == place.reach(inner.size_mm[2])

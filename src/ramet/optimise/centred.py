"""Mass near the middle of its box, so that two hands carry it level: bags shift, and like ones change places.

A preference, never a reason to leave something behind; offsets are in mm from the middle of the floor.
"""

from collections.abc import Iterator
from dataclasses import replace

from ramet.optimise.goals import Packing
from ramet.optimise.problem import Placed, Problem
from ramet.optimise.standing import put_up
from ramet.optimise.walls import swapped

ENOUGH_MM = 10
"""Nearer than this needs no more work (planning value)."""
MOST_SWAPS = 12


def mass_centred(problem: Problem, packing: Packing) -> Packing:
    """Return the packing with the mass of each box as near its middle as shifts and exchanges bring it."""
    for b in sorted({placed.bin for placed in packing.placed}):
        packing = _shifted(problem, packing, b)
        for _ in range(MOST_SWAPS):
            now = _away(problem, packing, b)
            if now <= ENOUGH_MM:
                break
            better = [one for one in _exchanges(problem, packing, b) if _away(problem, one, b) < now]
            better.sort(key=lambda one: _away(problem, one, b))
            held = next((one for one in better[:MOST_SWAPS] if _stands(problem, one, b)), None)
            if held is None:
                break
            packing = held
    return packing


def off_centre_mm(problem: Problem, packing: Packing, b: int) -> tuple[float, float]:
    """Return how far the middle of the mass of a box's bags is from that of its floor, along and across."""
    here = [(p, problem.items[p.item].choices[p.choice].mass_g) for p in packing.placed if p.bin == b]
    total = sum(mass for _, mass in here)
    if total == 0:
        return 0.0, 0.0
    along, across = (
        sum(mass * (p.at_mm[axis] + p.size_mm[axis] / 2) for p, mass in here) / total
        - problem.bins[b].size_mm[axis] / 2
        for axis in (0, 1)
    )
    return along, across


def _away(problem: Problem, packing: Packing, b: int) -> float:
    along, across = off_centre_mm(problem, packing, b)
    return abs(along) + abs(across)


def _shifted(problem: Problem, packing: Packing, b: int) -> Packing:
    """Shift all bags of a box with no board in it, as far as its free room allows."""
    if any(board.bin == b for board in packing.boards):
        return packing
    for axis in (0, 1):
        here = [p for p in packing.placed if p.bin == b]
        low = -min(p.at_mm[axis] for p in here)
        high = problem.bins[b].size_mm[axis] - max(p.at_mm[axis] + p.size_mm[axis] for p in here)
        wanted = max(low, min(high, round(-off_centre_mm(problem, packing, b)[axis])))
        for step in (wanted, wanted // 2):
            moved = Packing(
                tuple(_moved(p, axis, step) if p.bin == b else p for p in packing.placed), packing.boards
            )
            if step and _stands(problem, moved, b):
                packing = moved
                break
    return packing


def _moved(placed: Placed, axis: int, step: int) -> Placed:
    at = list(placed.at_mm)
    at[axis] += step
    return replace(placed, at_mm=(at[0], at[1], at[2]))


def _exchanges(problem: Problem, packing: Packing, b: int) -> Iterator[Packing]:
    """Yield the packing with two bags of one footprint on one level changed for each other."""
    here = [p for p in packing.placed if p.bin == b]
    for k, one in enumerate(here):
        for other in here[k + 1 :]:
            alike = sorted(one.size_mm[:2]) == sorted(other.size_mm[:2]) and one.at_mm[2] == other.at_mm[2]
            if alike and one.at_mm != other.at_mm:
                yield Packing(tuple(swapped(packing.placed, one, other)), packing.boards)


def _stands(problem: Problem, packing: Packing, b: int) -> bool:
    return not put_up(problem, packing, [p.item for p in packing.placed if p.bin == b]).fallen

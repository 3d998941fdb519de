"""A board that is not needed is taken out: all bags of its box stand on the floor if it has room."""

from dataclasses import replace

from ramet.optimise.floors import ground, pack_quickly
from ramet.optimise.goals import Packing
from ramet.optimise.problem import Problem


def flattened(problem: Problem, packing: Packing) -> Packing:
    """Return the packing with every box in one layer that can be."""
    for board in packing.boards:
        inside = [one for one in packing.placed if one.bin == board.bin]
        floor = ground(problem, board.bin, 0)
        if any(one.size_mm[2] > problem.bins[board.bin].size_mm[2] for one in inside):
            continue
        rects = pack_quickly(floor, [one.size_mm for one in inside])
        if rects is None:
            continue
        moved = {
            one.item: replace(one, at_mm=(x, y, 0), size_mm=(length, width, one.size_mm[2]))
            for one, (x, y, length, width) in zip(inside, rects, strict=True)
        }
        packing = Packing(
            tuple(moved.get(one.item, one) for one in packing.placed),
            tuple(other for other in packing.boards if other != board),
        )
    return packing

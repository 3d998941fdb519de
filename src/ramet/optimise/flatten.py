"""Boards that are not needed are taken out: all bags of their box stand on the floor if it has room."""

from ramet.optimise.goals import Packing
from ramet.optimise.options import option_of
from ramet.optimise.problem import Problem
from ramet.optimise.stacking import fill_box


def flattened(problem: Problem, packing: Packing) -> Packing:
    """Return the packing with every box on one floor that can be."""
    for b in sorted({board.bin for board in packing.boards}):
        inside = [one for one in packing.placed if one.bin == b]
        flat = fill_box(problem, [option_of(problem, one.item, one.choice, b, False) for one in inside], 0)
        if flat is not None:
            moved = {one.item: one for one in flat.placed}
            packing = Packing(
                tuple(moved.get(one.item, one) for one in packing.placed),
                tuple(other for other in packing.boards if other.bin != b),
            )
    return packing

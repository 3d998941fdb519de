"""Fill between a board and the bags under it, so that all of them carry what the solver counts on.

The solver lets every bag of the lower layer that may carry bear its part of the upper one. A bag lower than
the board does so only through what fills the gap: paper or foam cut to its top.
"""

from ramet.formats.plan import Pad
from ramet.optimise.problem import Board, Problem, Result


def fills_under(board: Board, problem: Problem, result: Result) -> tuple[Pad, ...]:
    """Return the fill from the top of each lower bag that may carry, up to the board."""
    return tuple(
        Pad(kind="fill", at_mm=(*one.at_mm[:2], one.size_mm[2]), size_mm=(*one.size_mm[:2], gap_mm))
        for one in result.placed
        if one.bin == board.bin
        and one.at_mm[2] == 0
        and problem.items[one.item].choices[one.choice].carries_g > 0
        and (gap_mm := board.z_mm - one.size_mm[2]) > 0
    )

"""Fill around a board: between it and the bags under it, and blocks under a side that nothing bears.

The solver lets every bag of the lower layer that may carry bear its part of the upper one. A bag lower than
the board does so only through what fills the gap: paper or foam cut to its top. Where all bearers stand on
one side, blocks of foam in the free corners of the floor keep the board from tipping.
"""

from collections.abc import Iterator, Sequence

from ramet.formats.plan import Pad
from ramet.optimise.problem import Board, Placed, Problem, Result

POST_MM = 50
_STEP_MM = 10

Rect = tuple[int, int, int, int]
"""x, y, length, width [mm]."""


def fills_under(board: Board, problem: Problem, result: Result) -> tuple[Pad, ...]:
    """Return the fill from the top of each lower bag that may carry, up to the board, and the blocks."""
    lower = [one for one in result.placed if one.bin == board.bin and one.at_mm[2] == 0]
    bearing = [one for one in lower if problem.items[one.item].choices[one.choice].carries_g > 0]
    gaps = tuple(
        Pad(kind="fill", at_mm=(*one.at_mm[:2], one.size_mm[2]), size_mm=(*one.size_mm[:2], gap_mm))
        for one in bearing
        if (gap_mm := board.z_mm - one.size_mm[2]) > 0
    )
    if _is_steady(board, problem, result, bearing):
        return gaps
    return (*gaps, *_posts(board, problem, lower))


def _is_steady(board: Board, problem: Problem, result: Result, bearing: Sequence[Placed]) -> bool:
    """Tell whether the middle of what stands on the board lies over the ground that its bearers span."""
    upper = [one for one in result.placed if one.bin == board.bin and one.at_mm[2] > board.z_mm]
    size = problem.bins[board.bin].size_mm
    loads = [(problem.board_g_per_m2 * size[0] * size[1] / 1e6, (size[0] / 2, size[1] / 2))]
    for one in upper:
        mass = problem.items[one.item].choices[one.choice].mass_g
        loads.append((mass, (one.at_mm[0] + one.size_mm[0] / 2, one.at_mm[1] + one.size_mm[1] / 2)))
    total = sum(mass for mass, _ in loads)
    return all(
        min(one.at_mm[axis] for one in bearing)
        <= sum(mass * at[axis] for mass, at in loads) / total
        <= max(one.at_mm[axis] + one.size_mm[axis] for one in bearing)
        for axis in (0, 1)
    )


def _posts(board: Board, problem: Problem, lower: Sequence[Placed]) -> Iterator[Pad]:
    """Yield a block for each corner of the floor, as near to it as bags and packs leave room."""
    box = problem.bins[board.bin]
    taken = [(one.at_mm[0], one.at_mm[1], one.size_mm[0], one.size_mm[1]) for one in lower]
    taken += [
        (body.at_mm[0], body.at_mm[1], body.size_mm[0], body.size_mm[1])
        for body in box.blocked
        if body.at_mm[2] < board.z_mm
    ]
    for corner in ((0, 0), (1, 0), (0, 1), (1, 1)):
        spot = _nearest(corner, (box.size_mm[0] - POST_MM, box.size_mm[1] - POST_MM), taken)
        if spot is not None:
            taken.append((*spot, POST_MM, POST_MM))
            yield Pad(kind="fill", at_mm=(*spot, 0), size_mm=(POST_MM, POST_MM, board.z_mm))


def _nearest(corner: tuple[int, int], most: tuple[int, int], taken: Sequence[Rect]) -> tuple[int, int] | None:
    """Return the free place for a block nearest to a corner, within its quarter of the floor."""
    spots = [
        (x, y)
        for x in range(0, max(0, most[0] // 2) + 1, _STEP_MM)
        for y in range(0, max(0, most[1] // 2) + 1, _STEP_MM)
    ]
    for x, y in sorted(spots, key=lambda spot: (spot[0] + spot[1], spot)):
        at = (most[0] - x if corner[0] else x, most[1] - y if corner[1] else y)
        if not any(_overlap((*at, POST_MM, POST_MM), rect) for rect in taken):
            return at
    return None


def _overlap(one: Rect, other: Rect) -> bool:
    return all(
        one[axis] < other[axis] + other[axis + 2] and other[axis] < one[axis] + one[axis + 2]
        for axis in (0, 1)
    )

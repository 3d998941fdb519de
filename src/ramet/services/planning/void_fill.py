"""Fill around boards: between one and the bags that bear it, and blocks under a side that nothing bears.

The solver tells which bags bear which board. A bag lower than its board bears it only through what fills the
gap: paper or foam cut to its top. Where all bearers stand on one side, blocks of foam in free corners below
the board keep it from tipping.
"""

from collections.abc import Iterator, Sequence

from ramet.formats.plan import Pad
from ramet.optimise.draft import BoxDraft, Stand
from ramet.optimise.goals import Packing
from ramet.optimise.problem import Board, Problem, Rect, Result
from ramet.optimise.standing import put_up
from ramet.optimise.surfaces import Surface, shared_mm2

POST_MM = 50
_STEP_MM = 10


def fills_under(boards: Sequence[Board], problem: Problem, result: Result) -> tuple[Pad, ...]:
    """Return the fill for the boards of one box: from the top of each bearer to its board, and the blocks."""
    if not boards:
        return ()
    b = boards[0].bin
    inside = [one.item for one in result.placed if one.bin == b]
    box = put_up(problem, Packing(result.placed, result.boards), inside).draft.boxes[b]
    found: list[Pad] = []
    for number, surface in enumerate(box.surfaces):
        if surface.board is not None:
            bearing = [one for one in box.stands if number in one.bears]
            found += [pad for one in bearing if (pad := _gap(one, box, surface.board, surface)) is not None]
            if not _is_steady(number, box, problem, bearing):
                found += _posts(number, box, problem, b, found)
    return tuple(found)


def _gap(bearer: Stand, box: BoxDraft, board: Board, surface: Surface) -> Pad | None:
    """Return the fill between a bag and the board it bears, over what they share; None when they touch."""
    top = _top_mm(bearer, box)
    x, y = max(bearer.rect[0], surface.rect[0]), max(bearer.rect[1], surface.rect[1])
    end_x = min(bearer.rect[0] + bearer.rect[2], surface.rect[0] + surface.rect[2])
    end_y = min(bearer.rect[1] + bearer.rect[3], surface.rect[1] + surface.rect[3])
    if board.z_mm == top:
        return None
    return Pad(kind="fill", at_mm=(x, y, top), size_mm=(end_x - x, end_y - y, board.z_mm - top))


def _top_mm(one: Stand, box: BoxDraft) -> int:
    return box.surfaces[one.surface].base_mm + one.option.size_mm[2]


def _is_steady(number: int, box: BoxDraft, problem: Problem, bearing: Sequence[Stand]) -> bool:
    """Tell whether the middle of what stands on the board lies over the ground that its bearers span."""
    x, y, length, width = box.surfaces[number].rect
    loads = [(problem.board_g_per_m2 * length * width / 1e6, (x + length / 2, y + width / 2))]
    for one in box.on(number):
        at = one.rect
        loads.append((one.option.mass_g, (at[0] + at[2] / 2, at[1] + at[3] / 2)))
    total = sum(mass for mass, _ in loads)
    return all(
        min(one.rect[axis] for one in bearing)
        <= sum(mass * at[axis] for mass, at in loads) / total
        <= max(one.rect[axis] + one.rect[axis + 2] for one in bearing)
        for axis in (0, 1)
    )


def _posts(number: int, box: BoxDraft, problem: Problem, b: int, fills: Sequence[Pad]) -> Iterator[Pad]:
    """Yield a block for each corner of a board, as near to it as what is below leaves room."""
    surface = box.surfaces[number]
    assert surface.board is not None
    top = surface.board.z_mm
    below = [one for one in box.surfaces[1:number] if shared_mm2(one.rect, surface.rect)]
    base = max((one.base_mm for one in below), default=0)
    taken = [
        one.rect for one in box.stands if box.surfaces[one.surface].base_mm < top and _top_mm(one, box) > base
    ]
    taken += [(*pad.at_mm[:2], *pad.size_mm[:2]) for pad in fills if pad.at_mm[2] + pad.size_mm[2] > base]
    taken += [
        (*body.at_mm[:2], *body.size_mm[:2])
        for body in problem.bins[b].blocked
        if body.at_mm[2] < top and body.at_mm[2] + body.size_mm[2] > base
    ]
    ground = next((one.rect for one in below if one.base_mm == base), surface.rect)
    for corner in ((0, 0), (1, 0), (0, 1), (1, 1)):
        spot = _nearest(corner, _common(ground, surface.rect), taken)
        if spot is not None:
            taken.append((*spot, POST_MM, POST_MM))
            yield Pad(kind="fill", at_mm=(*spot, base), size_mm=(POST_MM, POST_MM, top - base))


def _common(one: Rect, other: Rect) -> Rect:
    x, y = max(one[0], other[0]), max(one[1], other[1])
    end_x = min(one[0] + one[2], other[0] + other[2])
    return x, y, end_x - x, min(one[1] + one[3], other[1] + other[3]) - y


def _nearest(corner: tuple[int, int], within: Rect, taken: Sequence[Rect]) -> tuple[int, int] | None:
    """Return the free place for a block nearest to a corner, within its quarter of the board."""
    most = within[2] - POST_MM, within[3] - POST_MM
    if min(most) < 0:
        return None
    spots = [
        (x, y) for x in range(0, most[0] // 2 + 1, _STEP_MM) for y in range(0, most[1] // 2 + 1, _STEP_MM)
    ]
    for x, y in sorted(spots, key=lambda spot: (spot[0] + spot[1], spot)):
        at = (
            within[0] + (most[0] - x if corner[0] else x),
            within[1] + (most[1] - y if corner[1] else y),
        )
        if not any(shared_mm2((*at, POST_MM, POST_MM), rect) for rect in taken):
            return at
    return None

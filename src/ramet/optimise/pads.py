"""Boards for bags whose places seen from above are given: shared where that goes, else one below each."""

from collections.abc import Sequence
from dataclasses import replace

from ramet.optimise.draft import Draft, Stand, bears
from ramet.optimise.flats import room_under
from ramet.optimise.options import Option
from ramet.optimise.problem import Board, Problem, Rect
from ramet.optimise.spread import NO_SPREAD
from ramet.optimise.stacking import Filled
from ramet.optimise.surfaces import may_lie, shared_mm2

Pair = tuple[Option, Rect]


def on_pads(problem: Problem, bags: Sequence[Option], rects: Sequence[Rect]) -> Filled | None:
    """Return the box with each upper bag on a board; None when a rule forbids every way that was tried."""
    pairs = _grounded(list(zip(bags, rects, strict=True)))
    groups = _even_groups(problem, pairs)
    shared = [(z, _hull([rect for _, rect in group]), group) for z, group in groups]
    alone = [(z, one[1], [one]) for z, group in groups for one in group]
    lowest = [(_need_mm(pairs, one[1]), one[1], [one]) for one in pairs if one[0].upper]
    wide = _widened(pairs, lowest)
    found = (_with_boards(problem, pairs, boards) for boards in (shared, alone, lowest, wide))
    return next((one for one in found if one is not None), None)


def _grounded(pairs: list[Pair]) -> list[Pair]:
    """Put bags on the floor that were to stand on a board but have nothing below them."""
    low = [rect for o, rect in pairs if not o.upper]
    return [
        (replace(o, upper=False), rect)
        if o.upper and not any(shared_mm2(rect, under) for under in low)
        else (o, rect)
        for o, rect in pairs
    ]


def _widened(
    pairs: Sequence[Pair], boards: Sequence[tuple[int, Rect, list[Pair]]]
) -> list[tuple[int, Rect, list[Pair]]]:
    """Widen a board that no bag bears until it reaches over one that can, where nothing is in its way."""
    low = [(o, rect) for o, rect in pairs if not o.upper]
    found: list[tuple[int, Rect, list[Pair]]] = []
    for k, (z, rect, group) in enumerate(boards):
        others = [other for _, other, _ in (*found, *boards[k + 1 :])]
        hulls = [_hull([rect, under]) for o, under in low if o.carries_g and o.under_board_mm <= z]
        clear = [
            hull
            for hull in hulls
            if not any(shared_mm2(hull, other) for other in others)
            and not any(o.under_board_mm > z and shared_mm2(hull, under) for o, under in low)
        ]
        borne = any(o.carries_g and shared_mm2(rect, under) for o, under in low)
        wider = rect if borne or not clear else min(clear, key=lambda hull: hull[2] * hull[3])
        found.append((z, wider, group))
    return found


def _even_groups(problem: Problem, pairs: Sequence[Pair]) -> list[tuple[int, list[Pair]]]:
    """Group upper bags that can stand at one height, from the highest that any of them needs."""
    waiting = sorted(
        (one for one in pairs if one[0].upper), key=lambda one: (-_need_mm(pairs, one[1]), one[0].item)
    )
    found = []
    while waiting:
        z = _need_mm(pairs, waiting[0][1])
        group = [one for one in waiting if room_under(problem, one[0]) >= z]
        if waiting[0] not in group:
            group.append(waiting[0])
        found.append((z, group))
        waiting = [one for one in waiting if one not in group]
    return found


def _need_mm(pairs: Sequence[Pair], rect: Rect) -> int:
    """Return how high a board over this place must lie at least."""
    tops = [o.under_board_mm for o, under in pairs if not o.upper and shared_mm2(rect, under)]
    return max(tops, default=0)


def _hull(rects: Sequence[Rect]) -> Rect:
    x, y = min(rect[0] for rect in rects), min(rect[1] for rect in rects)
    end_x, end_y = max(rect[0] + rect[2] for rect in rects), max(rect[1] + rect[3] for rect in rects)
    return x, y, end_x - x, end_y - y


def _with_boards(
    problem: Problem, pairs: Sequence[Pair], boards: Sequence[tuple[int, Rect, list[Pair]]]
) -> Filled | None:
    b = pairs[0][0].bin
    laid = [Board(b, z, rect) for z, rect, _ in boards]
    crossing = any(
        shared_mm2(one.rect or (0, 0, 0, 0), other.rect or (0, 0, 0, 0))
        for k, one in enumerate(laid)
        for other in laid[:k]
    )
    if crossing or not all(may_lie(problem, board) for board in laid):
        return None
    draft = Draft.empty(problem, {b: laid}, NO_SPREAD)
    box = draft.boxes[b]
    if not boards and any(o.upper for o, _ in pairs):
        return None
    number_of = {surface.board: k for k, surface in enumerate(box.surfaces)}
    places = [(one, 0) for one in pairs if not one[0].upper]
    places += [
        (one, number_of[board]) for board, (_, _, group) in zip(laid, boards, strict=True) for one in group
    ]
    for (option, rect), number in places:
        stand = Stand(option, rect, number, bears(box, option, rect, number))
        free = box.surfaces[number].has_free(option, rect)
        if not free or not draft.is_borne(box, stand) or draft.keeps_off(stand):
            return None
        draft.put(stand)
    packing = draft.packing()
    return Filled(packing.placed, packing.boards)

"""Whether one box holds a set of bags, on its floor and on boards: many quick tries with different boards."""

import random
from collections.abc import Sequence
from dataclasses import dataclass

from ramet.optimise.draft import Draft
from ramet.optimise.flats import flat_of, plane_of
from ramet.optimise.floors import Flat, Plane, pack_quickly
from ramet.optimise.layouts import Layouts
from ramet.optimise.options import Option
from ramet.optimise.problem import Board, Placed, Problem, Rect
from ramet.optimise.spread import NO_SPREAD

TRIES = 60


@dataclass(frozen=True, slots=True)
class Filled:
    """A box with its bags in place."""

    placed: tuple[Placed, ...]
    boards: tuple[Board, ...]


def fill_box(problem: Problem, bags: Sequence[Option], seed: int, tries: int = TRIES) -> Filled | None:
    """Return a filled box, or None when no try worked. Bags keep to floor or boards as their option says."""
    if not any(o.upper for o in bags):
        return _quickly_on_floor(problem, bags)
    b = bags[0].bin
    dice = random.Random(seed + len(bags))
    layouts = Layouts.of(problem, b, bags)
    for start in range(tries):
        boards = even_board(problem, bags) if start < 8 else layouts.draw(dice)
        draft = Draft.empty(problem, {b: boards}, NO_SPREAD)
        shake = 0.0 if start == 0 else 0.5
        order = sorted(bags, key=lambda o: (o.upper, -o.area_mm2 * dice.uniform(1.0 - shake, 1.0), o.item))
        if all(draft.insert([option]) for option in order):
            packing = draft.packing()
            return Filled(packing.placed, packing.boards)
    return None


def floor_of(problem: Problem, bags: Sequence[Option]) -> tuple[Plane, list[Flat]]:
    """Return the floor of a box, and bags on it as it sees them."""
    box = problem.bins[bags[0].bin]
    return plane_of(box), [flat_of(box, o) for o in bags]


def on_floor(bags: Sequence[Option], rects: Sequence[Rect]) -> Filled:
    """Return a box with its bags on the floor at these rectangles."""
    placed = (
        Placed(o.item, o.choice, o.bin, (x, y, 0), (length, width, o.size_mm[2]))
        for o, (x, y, length, width) in zip(bags, rects, strict=True)
    )
    return Filled(tuple(placed), ())


def _quickly_on_floor(problem: Problem, bags: Sequence[Option]) -> Filled | None:
    rects = pack_quickly(*floor_of(problem, bags))
    if rects is None or sum(o.mass_g for o in bags) > problem.bins[bags[0].bin].max_contents_g:
        return None
    return on_floor(bags, rects)


def even_board(problem: Problem, bags: Sequence[Option]) -> tuple[Board, ...]:
    """Return one board across the box of these bags, just over those on the floor; none if none can lie."""
    layouts = Layouts.of(problem, bags[0].bin, bags)
    need = max((o.under_board_mm for o in bags if not o.upper), default=0)
    level = next((z for z in layouts.levels if z >= need and layouts.full(z)), None)
    return () if level is None else layouts.full(level)

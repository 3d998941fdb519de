"""Bags of which none can be over another: seen from above they must fit into one plane.

A bag on the floor and one on a board over it need both heights and the board's under the lid. For any level,
bags on the floor that reach it and bags on boards that need more than what is left above it can't be over
each other, whatever the boards. Each such set is a packing problem in two dimensions, true of every packing
in three; together they bind far tighter than volume.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from ramet.optimise.dual import Area
from ramet.optimise.floors import Flat, Plane
from ramet.optimise.options import Option
from ramet.optimise.packing import apart
from ramet.optimise.problem import Bin, Problem, Rule

MOST_LEVELS = 8
SOFT = -1
"""Not a height but the set of soft corals on boards with all others on the floor: never over each other."""


@dataclass(frozen=True, slots=True)
class FlatSet:
    """The options of a box (positions) of which none can be over another, as their plane sees them.

    `bodies` are numbers of bodies that every member has in its way and that do not overlap each other.
    """

    bin: int
    level_mm: int
    members: tuple[int, ...]
    flats: tuple[Flat, ...]
    plane: Plane
    bodies: tuple[int, ...]

    def room(self, area: Area) -> int:
        """Return what a valid area leaves beside the bodies that are in every member's way."""
        return area.room - sum(area.of_body(self.plane.bodies[k]) for k in self.bodies)


def flat_set(problem: Problem, options: Sequence[Option], b: int, level_mm: int) -> FlatSet:
    """Return the set at a level: 0 takes in all bags on the floor, its height those on boards; or SOFT."""
    belongs = membership(problem, options, b)
    box = problem.bins[b]
    members = [i for i, o in enumerate(options) if o.bin == b and belongs(o, level_mm)]
    flats = tuple(flat_of(box, options[i]) for i in members)
    plane = plane_of(box)
    always = [k for k in range(len(plane.bodies)) if all(flat[2] >> k & 1 for flat in flats)]
    bodies = apart(plane.bodies, always) if flats else []
    return FlatSet(b, level_mm, tuple(members), flats, plane, tuple(bodies))


def membership(problem: Problem, options: Sequence[Option], b: int) -> Callable[[Option, int], bool]:
    """Return what tells whether an option of a box belongs to the set at a level."""
    least = side_by_side_mm(problem, options, b)

    def belongs(o: Option, level_mm: int) -> bool:
        soft = problem.items[o.item].soft
        if level_mm == SOFT:
            return soft and o.size_mm[2] > least if o.upper else not soft
        if o.upper:
            return o.size_mm[2] > least and room_under(problem, o) < level_mm
        return o.under_board_mm >= level_mm

    return belongs


def levels(problem: Problem, options: Sequence[Option], b: int) -> tuple[int, ...]:
    """Return some levels worth keeping from the start: the floor, the boards, and a few between."""
    if not any(o.bin == b and o.upper for o in options):
        return (0,)
    tall = sorted({o.under_board_mm for o in options if o.bin == b and not o.upper})
    step = max(1, len(tall) // MOST_LEVELS)
    soft = {SOFT} if Rule.SOFT_NEVER_ABOVE in problem.rules else set()
    return tuple(sorted({*soft, 0, problem.bins[b].size_mm[2], *tall[step::step]}))


def all_levels(problem: Problem, here: Sequence[Option]) -> list[int]:
    """Return every level at which the flat set of one box changes: floor, boards, then from the tallest."""
    if not any(o.upper for o in here):
        return [0]
    tall = sorted({o.under_board_mm for o in here if not o.upper}, reverse=True)
    soft = [SOFT] if Rule.SOFT_NEVER_ABOVE in problem.rules else []
    return [0, problem.bins[here[0].bin].size_mm[2], *soft, *tall]


def lowest_mm(options: Sequence[Option], b: int) -> int:
    """Return the height of the lowest bag that may stand on the floor of a box."""
    return min((o.size_mm[2] for o in options if o.bin == b and not o.upper), default=0)


def room_under(problem: Problem, upper: Option) -> int:
    """Return how high a board may lie for this bag to end where it must."""
    return upper.top_mm - problem.board_mm - upper.size_mm[2]


def body_mask(box: Bin, option: Option) -> int:
    """Return which bodies a bag has in its way: all that begin below its top and end above its foot."""
    highest_foot = option.top_mm - option.size_mm[2]
    return sum(
        1 << k
        for k, body in enumerate(box.blocked)
        if option.top_mm > body.at_mm[2] and highest_foot < body.at_mm[2] + body.size_mm[2]
    )


def flat_of(box: Bin, option: Option) -> Flat:
    """Return a bag as the floor of its box sees it."""
    return (*option.size_mm[:2], body_mask(box, option))


def plane_kinds(problem: Problem, options: Iterable[Option]) -> list[tuple[Plane, Flat]]:
    """Return the kinds of these bags, each with its plane."""
    boxed = ((problem.bins[o.bin], o) for o in options)
    return list(dict.fromkeys((plane_of(box), flat_of(box, o)) for box, o in boxed))


def plane_of(box: Bin) -> Plane:
    """Return the floor of a box with the bodies in it seen from above."""
    bodies = tuple((*body.at_mm[:2], *body.size_mm[:2]) for body in box.blocked)
    return Plane(box.size_mm[0], box.size_mm[1], bodies)


def side_by_side_mm(problem: Problem, options: Sequence[Option], b: int) -> int:
    """Return the height above which two bags on boards can't be over each other, a bag below them counted."""
    if not any(o.bin == b and not o.upper and o.stack_most > 2 for o in options):
        return 0
    return (problem.bins[b].size_mm[2] - lowest_mm(options, b) - 2 * problem.board_mm) // 2

"""Every way in which an item may go: which choice of bag, which box, which layer."""

from collections.abc import Iterable
from dataclasses import dataclass

from ramet.optimise.problem import Bin, Choice, Mm3, Problem

BOARD_CLEARANCE_MM = 5
"""Free height between a board and a bag that may carry nothing (planning value: the sheet sags a little)."""


@dataclass(frozen=True, slots=True)
class Option:
    """One item, in one choice of bag, on the floor of one box or on its board."""

    item: int
    choice: int
    bin: int
    upper: bool
    size_mm: Mm3
    mass_g: int
    margin_min: int
    carries_g: int

    @property
    def under_board_mm(self) -> int:
        """The least height of a board above this bag."""
        return under_board_mm(self.size_mm[2], self.carries_g)


def under_board_mm(height_mm: int, carries_g: int) -> int:
    """Return the least height of a board above a bag: a little more when the bag may carry nothing."""
    return height_mm if carries_g > 0 else height_mm + BOARD_CLEARANCE_MM


def weight(problem: Problem, item: int) -> int:
    """Return for how many pieces of its line an item counts; goods without pieces count as one."""
    return max(1, len(problem.items[item].pieces))


def board_g(problem: Problem, bin_index: int) -> int:
    """Return the mass of a board across a box, rounded up [g]."""
    length, width, _ = problem.bins[bin_index].size_mm
    return -(-length * width * problem.board_g_per_m2 // 1_000_000)


def board_levels(problem: Problem, bin_index: int, heights: Iterable[int]) -> tuple[int, ...]:
    """Return where a board may lie: at one of `heights` or over a body, and through no body."""
    box = problem.bins[bin_index]
    tops = [body.at_mm[2] + body.size_mm[2] for body in box.blocked]
    wanted = sorted({*heights, *tops})
    return tuple(z for z in wanted if 0 < z < box.size_mm[2] and not _hits_body(problem, box, z))


def options(problem: Problem, *, all_choices: bool = True) -> tuple[Option, ...]:
    """Return every option that is possible by itself, ordered by item, choice, box and layer.

    Without `all_choices`, a choice is left out when another of the same item is at least as small, as light
    and as strong and may go into the same boxes (of like ones the best margin stays): the rest can carry
    nothing more.
    """
    lower = [
        Option(index, c, b, False, choice.size_mm, choice.mass_g, choice.margin_min, choice.carries_g)
        for index, item in enumerate(problem.items)
        for c, choice in enumerate(item.choices)
        if all_choices or not _is_dominated(item.choices, c)
        for b, box in enumerate(problem.bins)
        if _fits_alone(choice, b, box)
    ]
    room = {b: _room_above(problem, b, lower) for b in range(len(problem.bins))}
    upper = [
        Option(o.item, o.choice, o.bin, True, o.size_mm, o.mass_g, o.margin_min, o.carries_g)
        for o in lower
        if o.size_mm[2] <= room[o.bin]
    ]
    return tuple(sorted((*lower, *upper), key=lambda o: (o.item, o.choice, o.bin, o.upper)))


def fits_floor(size_mm: Mm3, box_mm: Mm3) -> bool:
    """Return whether a bag fits on a bare floor, straight or turned."""
    length, width, _ = size_mm
    return (length <= box_mm[0] and width <= box_mm[1]) or (width <= box_mm[0] and length <= box_mm[1])


def _fits_alone(choice: Choice, b: int, box: Bin) -> bool:
    allowed = choice.boxes is None or b in choice.boxes
    light = choice.mass_g <= box.max_contents_g
    return (
        allowed and light and choice.size_mm[2] <= box.size_mm[2] and fits_floor(choice.size_mm, box.size_mm)
    )


def _room_above(problem: Problem, b: int, lower: list[Option]) -> int:
    needs = [o.under_board_mm for o in lower if o.bin == b]
    if not any(o.bin == b and o.carries_g > 0 for o in lower):
        return -1
    levels = board_levels(problem, b, needs)
    return problem.bins[b].size_mm[2] - problem.board_mm - levels[0] if levels else -1


def _hits_body(problem: Problem, box: Bin, z: int) -> bool:
    return any(
        body.at_mm[2] < z + problem.board_mm and z < body.at_mm[2] + body.size_mm[2] for body in box.blocked
    )


def _is_dominated(choices: tuple[Choice, ...], index: int) -> bool:
    own = choices[index]
    return any(
        _dominates(other, own)
        and not (_dominates(own, other) and (-own.margin_min, index) < (-other.margin_min, k))
        for k, other in enumerate(choices)
        if k != index
    )


def _dominates(one: Choice, other: Choice) -> bool:
    small = sorted(one.size_mm[:2]) <= sorted(other.size_mm[:2]) and all(
        a <= b for a, b in zip(sorted(one.size_mm[:2]), sorted(other.size_mm[:2]), strict=True)
    )
    low = one.size_mm[2] <= other.size_mm[2] and one.mass_g <= other.mass_g
    strong = one.carries_g >= other.carries_g
    anywhere = one.boxes is None or (other.boxes is not None and one.boxes >= other.boxes)
    return small and low and strong and anywhere

"""Every way in which an item may go: which choice of bag, which box, on its floor or higher up."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ramet.optimise.problem import Bin, Choice, Mm3, Placed, Problem

BOARD_CLEARANCE_MM = 5
"""Free height between a board and a bag that may carry nothing (planning value: the sheet sags a little)."""


@dataclass(frozen=True, slots=True)
class Option:
    """One item, in one choice of bag, on the floor of one box or (`upper`) on a board in it.

    On a board its top is at most at `top_mm`: below the lid, or lower, below a pack in the lid. With its top
    higher than such a pack begins it keeps clear of it: so each way is a plain one seen from above.
    """

    item: int
    choice: int
    bin: int
    upper: bool
    size_mm: Mm3
    mass_g: int
    margin_min: int
    carries_g: int
    stack_most: int
    top_mm: int

    @property
    def under_board_mm(self) -> int:
        """The least height of a board above this bag."""
        return under_board_mm(self.size_mm[2], self.carries_g)

    @property
    def area_mm2(self) -> int:
        """The area of its footprint."""
        return self.size_mm[0] * self.size_mm[1]


def under_board_mm(height_mm: int, carries_g: int) -> int:
    """Return the least height of a board above a bag: a little more when the bag may carry nothing."""
    return height_mm if carries_g > 0 else height_mm + BOARD_CLEARANCE_MM


def weight(problem: Problem, item: int) -> int:
    """Return for how many pieces of its line an item counts; goods without pieces count as one."""
    return max(1, len(problem.items[item].pieces))


def holders(problem: Problem) -> dict[str, list[int]]:
    """Return for each piece the items that hold it; two of them exclude each other."""
    found: dict[str, list[int]] = {}
    for i, item in enumerate(problem.items):
        for piece in dict.fromkeys(item.pieces):
            found.setdefault(piece, []).append(i)
    return found


def option_of(problem: Problem, item: int, choice: int, b: int, upper: bool) -> Option:
    """Return an item's choice of bag in a box as an option, on a board up to the lid."""
    bag = problem.items[item].choices[choice]
    top = problem.bins[b].size_mm[2] if upper else bag.size_mm[2]
    return Option(
        item, choice, b, upper, bag.size_mm, bag.mass_g, bag.margin_min, bag.carries_g, bag.stack_most, top
    )


def option_standing(problem: Problem, placed: Placed) -> Option:
    """Return the option that a bag in its place has taken."""
    option = option_of(problem, placed.item, placed.choice, placed.bin, placed.at_mm[2] > 0)
    if not option.upper:
        return option
    end = placed.at_mm[2] + placed.size_mm[2]
    return replace(option, top_mm=min(top for top in tops_mm(problem.bins[placed.bin]) if top >= end))


def options(problem: Problem, *, all_choices: bool = True) -> tuple[Option, ...]:
    """Return every option that is possible by itself, ordered by item, choice, box and layer.

    Without `all_choices`, a choice is left out of a box when another of the same item takes no more of that
    box in any respect (of like ones the best margin stays): the rest can carry nothing more.
    """
    found: list[Option] = []
    for b, box in enumerate(problem.bins):
        fitting = {
            (i, c): choice
            for i, item in enumerate(problem.items)
            for c, choice in enumerate(item.choices)
            if _fits_alone(choice, b, box)
        }
        lowest = _lowest_board_mm(problem, list(fitting.values()))
        tops = tops_mm(box)
        stacked = any(lowest + choice.size_mm[2] <= tops[-1] for choice in fitting.values())
        by_item: dict[int, dict[int, Choice]] = {}
        for (i, c), choice in fitting.items():
            by_item.setdefault(i, {})[c] = choice
        for (i, c), choice in fitting.items():
            if all_choices or not _is_dominated(by_item[i], c, box, stacked):
                found.append(option_of(problem, i, c, b, False))
                above = option_of(problem, i, c, b, True)
                found += [replace(above, top_mm=top) for top in tops if lowest + choice.size_mm[2] <= top]
    return tuple(sorted(found, key=lambda o: (o.item, o.choice, o.bin, o.upper, o.top_mm)))


def tops_mm(box: Bin) -> tuple[int, ...]:
    """Return how high what stands on a board may end: below each body that hangs in the box, and the lid."""
    return tuple(sorted({body.at_mm[2] for body in box.blocked if body.at_mm[2] > 0} | {box.size_mm[2]}))


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


def _lowest_board_mm(problem: Problem, choices: Sequence[Choice]) -> float:
    """Return the height of the top of the lowest board that a bag could bear; infinite when none bears."""
    bearing = [choice.size_mm[2] for choice in choices if choice.carries_g > 0 and choice.stack_most > 1]
    return min(bearing, default=math.inf) + problem.board_mm


def _is_dominated(rivals: dict[int, Choice], index: int, box: Bin, stacked: bool) -> bool:
    own = rivals[index]
    return any(
        _dominates(other, own, box, stacked)
        and not (_dominates(own, other, box, stacked) and (-own.margin_min, index) < (-other.margin_min, k))
        for k, other in rivals.items()
        if k != index
    )


def _dominates(one: Choice, other: Choice, box: Bin, stacked: bool) -> bool:
    sides = zip(sorted(one.size_mm[:2]), sorted(other.size_mm[:2]), strict=True)
    if one.mass_g > other.mass_g or any(a > b for a, b in sides):
        return False
    if not stacked:
        return _hindered(one, box) <= _hindered(other, box)
    strong = one.carries_g >= other.carries_g and one.stack_most >= other.stack_most
    return one.size_mm[2] <= other.size_mm[2] and strong


def _hindered(choice: Choice, box: Bin) -> frozenset[int]:
    return frozenset(k for k, body in enumerate(box.blocked) if body.at_mm[2] < choice.size_mm[2])

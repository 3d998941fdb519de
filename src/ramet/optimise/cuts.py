"""What the floors teach the choice: sets of bags that do not fit together, said as widely as is true."""

from collections.abc import Sequence
from itertools import combinations

from ortools.sat.python import cp_model

from ramet.optimise.dual import Area
from ramet.optimise.floors import Ground, ground
from ramet.optimise.options import Option
from ramet.optimise.selection import Selection, Slot

Size = tuple[int, int, int]

MOST_CLASSES = 5
"""With more sizes than this in a misfit, bags count only for their own size (else subsets get too many)."""


def forbid_overfull(s: Selection, area: Area, length: int, width: int) -> None:
    """No floor of this length and width holds more of a valid area than it has."""
    for (b, upper), indices in s.by_slot.items():
        box = s.problem.bins[b]
        if (box.size_mm[0], box.size_mm[1]) != (length, width):
            continue
        taken = s.sum_of(indices, lambda o: area.of(o.size_mm[0], o.size_mm[1]))
        if upper:
            s.model.add(taken <= area.room * s.boarded[b])
        else:
            bodies = sum(area.of_body(rect) for rect in standing_bodies(s, b))
            s.model.add(taken <= area.room - bodies)


def standing_bodies(s: Selection, b: int) -> list[tuple[int, int, int, int]]:
    """Return the floor rectangles of bodies that are in the way of every bag on the floor of a box."""
    lowest = min((s.options[i].size_mm[2] for i in s.slot(b, False)), default=0)
    return [h.rect for h in ground(s.problem, b, 0).hindrances if h.under_mm < lowest]


def forbid_misfit(s: Selection, place: Ground, misfit: Sequence[Size]) -> None:
    """Wherever these bags would not fit, bags at least as large do not either."""
    for slot in s.by_slot:
        unless = _unless(s, slot, place, misfit)
        if unless is not None:
            _forbid(s, slot, place, misfit, unless)


def _unless(
    s: Selection, slot: Slot, place: Ground, misfit: Sequence[Size]
) -> list[cp_model.LiteralT] | None:
    """Return what may lift the misfit on this floor (a lower board); None: it says nothing about it."""
    b, upper = slot
    box = s.problem.bins[b]
    if not place.hindrances:
        smaller = box.size_mm[0] <= place.length and box.size_mm[1] <= place.width
        return [] if smaller else None
    if (box.size_mm[0], box.size_mm[1]) != (place.length, place.width):
        return None
    if not upper:
        return [] if place.base_mm == 0 and ground(s.problem, b, 0) == place else None
    if place.base_mm == 0 or ground(s.problem, b, place.base_mm) != place:
        return None
    return _other_heights(s, b, place, misfit)


def _other_heights(s: Selection, b: int, place: Ground, misfit: Sequence[Size]) -> list[cp_model.LiteralT]:
    board = s.problem.board_mm
    lowest, highest = 0, s.problem.bins[b].size_mm[2]
    for _, _, height in misfit:
        reach = place.reach(height)
        for hindrance in place.hindrances[:reach]:
            underside = place.base_mm + hindrance.under_mm
            lowest = max(lowest, underside - height - board + 1)
            highest = min(highest, underside - board)
    below = next((step for z, step in s.at_least[b].items() if z >= lowest), None)
    above = next((step for z, step in s.at_least[b].items() if z > highest), None)
    literals: list[cp_model.LiteralT] = [~s.boarded[b] if below is None else ~below]
    return literals if above is None else [*literals, above]


def _forbid(
    s: Selection, slot: Slot, place: Ground, misfit: Sequence[Size], unless: list[cp_model.LiteralT]
) -> None:
    """By Hall's theorem the bags can stand in for the misfit only if every group of its sizes has enough."""
    misfit = [_as_seen(size, place, slot[1]) for size in misfit]
    sizes = list(dict.fromkeys(misfit))
    widely = len(sizes) <= MOST_CLASSES
    stand_ins = {
        size: frozenset(i for i in s.by_slot[slot] if _stands_in(s.options[i], size, place, slot[1], widely))
        for size in sizes
    }
    needed: dict[frozenset[int], int] = {}
    for count in range(1, len(sizes) + 1 if widely else 2):
        for group in combinations(sizes, count):
            union = frozenset().union(*(stand_ins[size] for size in group))
            needed[union] = max(needed.get(union, 0), sum(misfit.count(size) for size in group))
    if any(len(union) < need for union, need in needed.items()):
        return
    if len(needed) == 1 and not unless:
        ((union, need),) = needed.items()
        s.model.add(sum(s.take[i] for i in sorted(union)) <= need - 1)
        return
    literals: list[cp_model.LiteralT] = list(unless)
    for union, need in needed.items():
        too_few = s.model.new_bool_var("")
        s.model.add(sum(s.take[i] for i in sorted(union)) <= need - 1).only_enforce_if(too_few)
        literals.append(too_few)
    s.model.add_bool_or(literals)


def _as_seen(size: Size, place: Ground, upper: bool) -> Size:
    """Return a size as the floor sees it: bags that no body tells apart by height count as one size."""
    short, long = sorted(size[:2])
    reach = place.reach(size[2])
    if reach == 0:
        return short, long, 0
    return short, long, size[2] if upper else place.hindrances[reach - 1].under_mm + 1


def _stands_in(option: Option, size: Size, place: Ground, upper: bool, widely: bool) -> bool:
    own, other = sorted(option.size_mm[:2]), sorted(size[:2])
    if not widely:
        return own == other and place.reach(option.size_mm[2]) == place.reach(size[2])
    if own[0] < other[0] or own[1] < other[1]:
        return False
    reach = place.reach(size[2])
    if reach == 0:
        return True
    return option.size_mm[2] >= size[2] if upper else place.reach(option.size_mm[2]) >= reach

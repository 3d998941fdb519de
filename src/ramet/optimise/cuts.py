"""What planes teach the choice: sets of bags that do not fit together, said as widely as is true."""

from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from ramet.optimise.dual import Area
from ramet.optimise.flats import FlatSet
from ramet.optimise.floors import Flat, Plane
from ramet.optimise.options import Option
from ramet.optimise.packing import covers
from ramet.optimise.selection import Selection

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

MOST_CLASSES = 5
"""With more sizes than this in a misfit, bags count only for their own size (else subsets get too many)."""


def forbid_overfull(s: Selection, flat: FlatSet, area: Area, length: int, width: int) -> None:
    """A plane of this length and width holds no more of a valid area than it has."""
    if (flat.plane.length, flat.plane.width) == (length, width) and flat.members:
        taken = s.sum_of(flat.members, lambda o: area.of(o.size_mm[0], o.size_mm[1]))
        s.model.add(taken <= flat.room(area))


def forbid_misfit(s: Selection, flat: FlatSet, plane: Plane, misfit: Sequence[Flat]) -> None:
    """Where these bags would not fit, bags at least as large do not either.

    By Hall's theorem bags can stand in for the misfit only if every group of its sizes has enough of them.
    """
    if not _speaks_of(plane, flat.plane):
        return
    sizes = list(dict.fromkeys(misfit))
    widely = len(sizes) <= MOST_CLASSES
    stand_ins = {
        size: frozenset(
            i
            for i, own in zip(flat.members, flat.flats, strict=True)
            if (covers(own, size) if widely else _alike(own, size))
        )
        for size in sizes
    }
    needed: dict[frozenset[int], int] = {}
    for count in range(1, len(sizes) + 1 if widely else 2):
        for group in combinations(sizes, count):
            union = frozenset().union(*(stand_ins[size] for size in group))
            needed[union] = max(needed.get(union, 0), sum(misfit.count(size) for size in group))
    _forbid(s, needed)


def forbid_in_box(s: Selection, chosen: Sequence[Option]) -> None:
    """These bags do not go together into this box or one like it; nor do others of the same sizes."""
    sizes = [_solid(o) for o in chosen]
    box = s.problem.bins[chosen[0].bin]
    for b, other in enumerate(s.problem.bins):
        if (other.size_mm, other.blocked) != (box.size_mm, box.blocked):
            continue
        needed: dict[frozenset[int], int] = {}
        for size in dict.fromkeys(sizes):
            alike = frozenset(i for i in (*s.low[b], *s.high[b]) if _solid(s.options[i]) == size)
            needed[alike] = sizes.count(size)
        _forbid(s, needed)


def _forbid(s: Selection, needed: dict[frozenset[int], int]) -> None:
    if any(len(union) < need for union, need in needed.items()):
        return
    if len(needed) == 1:
        ((union, need),) = needed.items()
        s.model.add(sum(s.take[i] for i in sorted(union)) <= need - 1)
        return
    literals: list[cp_model.LiteralT] = []
    for union, need in needed.items():
        too_few = s.model.new_bool_var("")
        s.model.add(sum(s.take[i] for i in sorted(union)) <= need - 1).only_enforce_if(too_few)
        literals.append(too_few)
    s.model.add_bool_or(literals)


def _speaks_of(told: Plane, other: Plane) -> bool:
    """Tell whether what does not fit on one plane does not fit on the other either."""
    if not told.bodies:
        return other.length <= told.length and other.width <= told.width
    return told == other


def _alike(one: Flat, other: Flat) -> bool:
    return sorted(one[:2]) == sorted(other[:2]) and one[2] & other[2] == other[2]


def _solid(option: Option) -> tuple[int, ...]:
    """What the packing of a box depends on; the soft-above rule only makes it harder."""
    return (
        *sorted(option.size_mm[:2]),
        option.size_mm[2],
        option.under_board_mm,
        option.stack_most,
        option.upper,
    )

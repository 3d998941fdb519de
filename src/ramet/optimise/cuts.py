"""What planes teach the choice: sets of bags that do not fit together, said as widely as is true."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TypeVar

from ramet.optimise.dual import Area
from ramet.optimise.flats import FlatSet, flat_of, room_under
from ramet.optimise.floors import Flat, Plane
from ramet.optimise.options import Option
from ramet.optimise.packing import covers
from ramet.optimise.problem import Bin, Problem
from ramet.optimise.selection import Selection

Kind = TypeVar("Kind", bound=Hashable)

MOST_CLASSES = 7
"""With more sizes than this in a misfit, bags count only for their own size (else subsets get too many)."""

MOST_ROLES = 9
"""With more roles than this a box that can't be filled is ruled out for bags of just its sizes."""
NO_LIMIT = 10**6


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
    stand_ins = {size: _stand_ins(s, flat, size, widely) for size in sizes}
    _forbid_all(s, misfit, stand_ins, len(sizes) if widely else 1)


def _stand_ins(s: Selection, flat: FlatSet, size: Flat, widely: bool) -> frozenset[int]:
    """Return the members of a flat set that take at least the room of a bag (or just it, unless `widely`)."""
    key = flat.bin, flat.level_mm, size, widely
    if key not in s.stand_ins:
        s.stand_ins[key] = frozenset(
            i
            for i, own in zip(flat.members, flat.flats, strict=True)
            if (covers(own, size) if widely else _alike(own, size))
        )
    return s.stand_ins[key]


def forbid_in_box(s: Selection, chosen: Sequence[Option]) -> None:
    """These bags do not go together into this box or one like it; nor do others of the same sizes."""
    sizes = [_solid(o) for o in chosen]
    box = s.problem.bins[chosen[0].bin]
    for b in _boxes_like(s, box):
        here = [(i, _solid(s.options[i])) for i in (*s.low[b], *s.high[b])]
        alike = {size: frozenset(i for i, own in here if own == size) for size in sizes}
        _forbid_all(s, sizes, alike, 1)


@dataclass(frozen=True, slots=True)
class Role:
    """What a bag of a box that can't be filled stands for: its sides, what is in its way, and how tall it is.

    On the floor that is the least height of a board above it (`limit_mm` or more); on a board it is how high
    that board may lie (`limit_mm` or less). `soft` matters only where it is not None.
    """

    flat: Flat
    upper: bool
    limit_mm: int
    soft: bool | None


def roles(problem: Problem, bags: Sequence[Option], *, soft_matters: bool) -> list[Role]:
    """Return the widest roles in which bags can't be over each other just where these bags can't."""
    box = problem.bins[bags[0].bin]
    rooms = [room_under(problem, o) for o in bags if o.upper]
    found = []
    for o in bags:
        if o.upper:
            over = [low.under_board_mm for low in bags if not low.upper]
            blocked = [_floor_limit(under, rooms) for under in over if under > room_under(problem, o)]
            limit = min(blocked, default=NO_LIMIT) - 1
        else:
            limit = _floor_limit(o.under_board_mm, rooms)
        soft = problem.items[o.item].soft if soft_matters else None
        found.append(Role(flat_of(box, o), o.upper, limit, soft))
    return found


def _floor_limit(under_mm: int, rooms: Sequence[int]) -> int:
    """Return how low a board above a bag may lie with the same bags unable to stand over it."""
    return 1 + max((room for room in rooms if room < under_mm), default=-1)


def forbid_roles(s: Selection, box: Bin, wanted: Sequence[Role]) -> None:
    """Bags do not fill all of these roles together, in this box or one like it."""
    kinds = list(dict.fromkeys(wanted))
    if len(kinds) > MOST_ROLES:
        return
    for b in _boxes_like(s, box):
        _forbid_all(s, wanted, {role: _players(s, b, role) for role in kinds}, len(kinds))


def _boxes_like(s: Selection, box: Bin) -> list[int]:
    """Return the boxes in which just what fits into this one fits."""
    shape = box.size_mm, box.blocked
    return [b for b, other in enumerate(s.problem.bins) if (other.size_mm, other.blocked) == shape]


def _players(s: Selection, b: int, role: Role) -> frozenset[int]:
    """Return the options of a box that can fill a role."""
    box = s.problem.bins[b]
    found = []
    for i in s.high[b] if role.upper else s.low[b]:
        o = s.options[i]
        tall = room_under(s.problem, o) <= role.limit_mm if role.upper else o.under_board_mm >= role.limit_mm
        like = role.soft is None or s.problem.items[o.item].soft == role.soft
        if tall and like and covers(flat_of(box, o), role.flat):
            found.append(i)
    return frozenset(found)


def _forbid_all(
    s: Selection, wanted: Sequence[Kind], able: Mapping[Kind, frozenset[int]], together: int
) -> None:
    """Too few options are taken to play all that is wanted: too few for some group of up to `together` kinds.

    By Hall's theorem, with all kinds together, that says just what is true; with fewer it says less.
    """
    needed: dict[frozenset[int], int] = {}
    for count in range(1, together + 1):
        for group in combinations(dict.fromkeys(wanted), count):
            union = frozenset().union(*(able[kind] for kind in group))
            needed[union] = max(needed.get(union, 0), sum(wanted.count(kind) for kind in group))
    if all(len(union) >= need for union, need in needed.items()):
        s.model.add_bool_or(s.at_most(union, need - 1) for union, need in needed.items())


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

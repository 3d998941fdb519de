"""A packing that stands already: put up again bag by bag, and judged for what contradicts itself in it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

from ramet.optimise.draft import Boards, Draft
from ramet.optimise.goals import Packing, boards_of
from ramet.optimise.options import option_of
from ramet.optimise.problem import Placed, Problem
from ramet.optimise.spread import NO_SPREAD


@dataclass(frozen=True, slots=True)
class PutUp:
    """A draft with what could stand in its old place, and the items that could not."""

    draft: Draft
    fallen: tuple[int, ...]


def put_up(problem: Problem, packing: Packing, items: Iterable[int], boards: Boards | None = None) -> PutUp:
    """Put these items of a packing up in their old places, from the lowest; what is not borne falls."""
    wanted = set(items)
    draft = Draft.empty(problem, boards_of(packing) if boards is None else boards, NO_SPREAD)
    fallen = []
    for placed in sorted(packing.placed, key=lambda p: (p.at_mm[2], p.item)):
        if placed.item in wanted:
            upper = placed.at_mm[2] > 0
            option = option_of(problem, placed.item, placed.choice, placed.bin, upper)
            if not draft.stand(option, placed):
                fallen.append(placed.item)
    return PutUp(draft, tuple(fallen))


def contradictions(
    problem: Problem, packing: Packing, packed: frozenset[int], others: frozenset[int]
) -> tuple[str, ...]:
    """Return in words why a standing packing with these packed items can't be true of this problem.

    `others` go or come by the change: what falls only while they stand there, or only without them, is no
    contradiction.
    """
    found = list(_unknown(problem, packing, packed | others))
    if found:
        return tuple(found)
    return tuple(_against_each_other(problem, packing, packed, others))


def _unknown(problem: Problem, packing: Packing, named: frozenset[int]) -> Iterator[str]:
    seen: set[int] = set()
    for placed in packing.placed:
        if not 0 <= placed.item < len(problem.items):
            yield f"the packing holds item {placed.item}, which the problem does not have"
            continue
        item = problem.items[placed.item]
        if placed.item in seen:
            yield f"{item.id} stands twice"
        seen.add(placed.item)
        if not 0 <= placed.bin < len(problem.bins):
            yield f"{item.id} stands in box {placed.bin}, which the problem does not have"
        if not 0 <= placed.choice < len(item.choices):
            yield f"{item.id} is in a bag that is not among its choices"
    for number in sorted(named):
        if not 0 <= number < len(problem.items):
            yield f"item {number} is named, which the problem does not have"


def _against_each_other(
    problem: Problem, packing: Packing, packed: frozenset[int], others: frozenset[int]
) -> Iterator[str]:
    there = {placed.item: placed for placed in packing.placed}
    for number in sorted(packed - there.keys()):
        yield f"{problem.items[number].id} is said to be packed but stands in no box"
    stands = [there[number] for number in sorted(packed & there.keys())]
    broken = False
    for one, other in combinations(stands, 2):
        if one.bin == other.bin and _meet(one, other):
            broken = True
            names = problem.items[one.item].id, problem.items[other.item].id
            yield f"{names[0]} and {names[1]} are said to be packed in the same place"
        shared = set(problem.items[one.item].pieces) & set(problem.items[other.item].pieces)
        if shared:
            broken = True
            yield f"{sorted(shared)[0]} is said to be packed twice"
    for one in stands:
        box = problem.bins[one.bin]
        ends = zip(one.at_mm, one.size_mm, box.size_mm, strict=True)
        if any(at < 0 or at + size > most for at, size, most in ends):
            broken = True
            yield f"{problem.items[one.item].id} is said to be packed where box {box.id} has ended"
    if not broken:
        fallen = packed.intersection(put_up(problem, packing, there.keys()).fallen)
        for number in put_up(problem, packing, there.keys() - others).fallen if fallen else ():
            if number in fallen:
                yield f"{problem.items[number].id} is said to be packed where it can't stand by the rules"


def _meet(one: Placed, other: Placed) -> bool:
    pairs = zip(one.at_mm, one.size_mm, other.at_mm, other.size_mm, strict=True)
    return all(a < b + b_size and b < a + a_size for a, a_size, b, b_size in pairs)

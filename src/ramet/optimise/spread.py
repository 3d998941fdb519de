"""Spreading the risk: which rules apply at all, and whether a packing keeps them."""

from collections.abc import Iterable
from dataclasses import dataclass

from ramet.optimise.goals import Packing
from ramet.optimise.options import fits_floor, weight
from ramet.optimise.problem import Item, Problem, Rule


@dataclass(frozen=True, slots=True)
class Spread:
    """Whether musts must be spread, and the strains that must be, wherever two or more boxes are used.

    A rule that cannot be kept by anything is left out: with fewer than two boxes that any must (or any bag
    of the strain) could go into there is nothing to spread over.
    """

    musts: bool
    strains: frozenset[str]


NO_SPREAD = Spread(False, frozenset())


def spread_needed(problem: Problem) -> Spread:
    """Return what has to be spread under the rules that are on."""
    musts = [item for item in problem.items if is_must(problem, item)]
    strains: dict[str, list[Item]] = {}
    for item in problem.items:
        if item.strain:
            strains.setdefault(item.strain, []).append(item)
    return Spread(
        Rule.SPREAD_MUSTS in problem.rules and len(musts) > 1 and len(_bins(problem, musts)) > 1,
        frozenset(
            name
            for name, items in strains.items()
            if Rule.SPREAD_STRAINS in problem.rules and len(items) > 1 and len(_bins(problem, items)) > 1
        ),
    )


def is_must(problem: Problem, item: Item) -> bool:
    """Tell whether a coral must go; goods that must go carry none of the risk that is spread."""
    return bool(item.pieces) and problem.lines[item.line].rank == 0


def keeps_spread(problem: Problem, spread: Spread, packing: Packing) -> bool:
    """Return whether a packing keeps the spreading rules."""
    if len({placed.bin for placed in packing.placed}) < 2:
        return True
    strains: dict[str, list[int]] = {}
    musts: list[int] = []
    for placed in packing.placed:
        item = problem.items[placed.item]
        riding = [placed.bin] * max(1, len(item.pieces))
        strains.setdefault(item.strain, []).extend(riding)
        if is_must(problem, item):
            musts += riding
    groups = [strains[name] for name in sorted(strains) if name in spread.strains]
    if spread.musts:
        groups.append(musts)
    return all(len(group) < 2 or len(set(group)) > 1 for group in groups)


def most_together(problem: Problem, spread: Spread) -> dict[str, int]:
    """Return for each strain that is spread how many of its pieces one box of several may hold at most.

    All that can go at once may not ride together; so one less than these.
    """
    going: dict[tuple[str, int], int] = {}
    for i, item in enumerate(problem.items):
        if item.strain in spread.strains:
            key = item.strain, item.line
            going[key] = going.get(key, 0) + weight(problem, i)
    most: dict[str, int] = {}
    for (strain, line), pieces in going.items():
        most[strain] = most.get(strain, 0) + min(pieces, problem.lines[line].wanted)
    return {strain: max(1, pieces - 1) for strain, pieces in most.items()}


def _bins(problem: Problem, items: Iterable[Item]) -> frozenset[int]:
    return frozenset(
        b
        for item in items
        for choice in item.choices
        for b, box in enumerate(problem.bins)
        if (choice.boxes is None or b in choice.boxes)
        and choice.size_mm[2] <= box.size_mm[2]
        and choice.mass_g <= box.max_contents_g
        and fits_floor(choice.size_mm, box.size_mm)
    )

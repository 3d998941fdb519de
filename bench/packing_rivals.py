"""Two public packing libraries on the same instances, with every doubt in their favour.

Both get each item's smallest bag, and may forget the thickness and mass of boards, how loads add up, and the
spread of risk. Only bags in the way of a pack, on nothing, or on a bag that may bear nothing do not count.
rectpack packs planes: one a box, or two where bags are low. py3dbp packs blocks; two of its six turns keep a
bag upright, and only those are left to it. Neither knows values, so both are asked again for the most worthy
items by number, and the best answer counts.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import py3dbp.main
import rectpack
from py3dbp import Bin, Item, Packer

from ramet.optimise.goals import item_value
from ramet.optimise.options import Option, options
from ramet.optimise.problem import Mm3, Problem

FEWEST, STEP = 15, 2


def worth(problem: Problem, items: set[int]) -> int:
    """Return one number for what is carried: musts and wants count 40 each, fillers their value."""
    ranks = [(problem.lines[problem.items[i].line].rank, item_value(problem, i)) for i in items]
    return sum(value if rank == 2 else 40 * value for rank, value in ranks)


def by_rectpack(problem: Problem) -> int:
    """Return the most that rectpack carries."""
    best = 0
    for bags in _prefixes(problem):
        for algorithm in (rectpack.MaxRectsBssf, rectpack.MaxRectsBaf, rectpack.SkylineMwfl):
            for order in (rectpack.SORT_AREA, rectpack.SORT_NONE):
                best = max(best, worth(problem, _on_planes(problem, bags, algorithm, order)))
    return best


def by_py3dbp(problem: Problem) -> int:
    """Return the most that py3dbp carries."""
    py3dbp.main.RotationType.ALL = [0, 1]
    best = 0
    for bags in _prefixes(problem):
        for bigger_first in (True, False):
            packer = Packer()
            for box in problem.bins:
                packer.add_bin(Bin(box.id, *box.size_mm, box.max_contents_g))
            for bag in bags:
                packer.add_item(Item(bag.item, *bag.size_mm, bag.mass_g))
            packer.pack(bigger_first=bigger_first, distribute_items=True, number_of_decimals=0)
            places = [
                _Place(
                    _index(problem, box.name), item.name, _ints(item.position), _ints(item.get_dimension())
                )
                for box in packer.bins
                for item in box.items
            ]
            best = max(best, worth(problem, _that_count(problem, bags, places)))
    return best


def _on_planes(problem: Problem, bags: list[Option], algorithm: object, order: object) -> set[int]:
    packer = rectpack.newPacker(rotation=True, pack_algo=algorithm, sort_algo=order)
    for bag in bags:
        packer.add_rect(*bag.size_mm[:2], rid=bag.item)
    tallest = max(bag.size_mm[2] for bag in bags)
    layers = max(1, min(box.size_mm[2] for box in problem.bins) // tallest)
    for box in problem.bins:
        for _ in range(layers):
            packer.add_bin(*box.size_mm[:2])
    packer.pack()
    height = {bag.item: bag.size_mm[2] for bag in bags}
    places = [
        _Place(plane // layers, item, (x, y, plane % layers * tallest), (long, wide, height[item]))
        for plane, x, y, long, wide, item in packer.rect_list()
    ]
    return _that_count(problem, bags, places, levelled=True)


@dataclass(frozen=True, slots=True)
class _Place:
    bin: int
    item: int
    at_mm: Mm3
    size_mm: Mm3


def _that_count(
    problem: Problem, bags: list[Option], places: list[_Place], levelled: bool = False
) -> set[int]:
    """Return the items clear of packs and borne; where layers are levelled by fill, all bags below bear."""
    carries = {bag.item: bag.carries_g for bag in bags}
    kept: list[_Place] = []
    for one in sorted(places, key=lambda place: place.at_mm[2]):
        bodies = problem.bins[one.bin].blocked
        below = [
            other
            for other in kept
            if other.bin == one.bin
            and carries[other.item]
            and _meet(one, other.at_mm, other.size_mm, 2)
            and (levelled or other.at_mm[2] + other.size_mm[2] == one.at_mm[2])
        ]
        clear = not any(_meet(one, body.at_mm, body.size_mm, 3) for body in bodies)
        if clear and (one.at_mm[2] == 0 or below):
            kept.append(one)
    return {place.item for place in kept}


def _meet(one: _Place, at_mm: Mm3, size_mm: Mm3, axes: int) -> bool:
    return all(
        one.at_mm[k] < at_mm[k] + size_mm[k] and at_mm[k] < one.at_mm[k] + one.size_mm[k] for k in range(axes)
    )


def _ints(numbers: Iterable[object]) -> Mm3:
    x, y, z = (int(str(number).split(".")[0]) for number in numbers)
    return x, y, z


def _index(problem: Problem, name: str) -> int:
    return next(b for b, box in enumerate(problem.bins) if box.id == name)


def _prefixes(problem: Problem) -> Iterator[list[Option]]:
    """Yield the smallest bags of the most worthy items, no more of a line than it wants, more and more."""
    smallest: dict[int, Option] = {}
    for option in options(problem):
        known = smallest.get(option.item)
        if known is None or (option.area_mm2, option.size_mm[2]) < (known.area_mm2, known.size_mm[2]):
            smallest[option.item] = option

    def key(item: int) -> tuple[int, float]:
        rank = problem.lines[problem.items[item].line].rank
        return rank, -item_value(problem, item) / smallest[item].area_mm2

    wanted = [line.wanted for line in problem.lines]
    chosen = []
    for item in sorted(smallest, key=key):
        line = problem.items[item].line
        if wanted[line]:
            wanted[line] -= 1
            chosen.append(smallest[item])
    for count in range(FEWEST, len(chosen) + STEP, STEP):
        yield chosen[:count]

"""Paper or foam in the gaps of a layer, so that no bag shifts: filled places as bodies of the plan.

What is left beside the bags of a layer is cut into blocks, the largest first. A block is lower than the
lowest bag of its layer, so that it bears nothing, and stays out of the air that packs need.
"""

from collections.abc import Iterator, Sequence

from ramet.formats.plan import Pad
from ramet.optimise.floors import carved
from ramet.optimise.problem import Rect
from ramet.reference.tables import Reference
from ramet.services.planning.bagging import Size
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.loads import Load

_OF_THE_LOWEST = 0.75


def gap_fills(
    box: ReadyBox, loads: Sequence[Load], pads: Sequence[Pad], reference: Reference
) -> tuple[Pad, ...]:
    """Return the fill for the gaps of a box, layer by layer, beside what stands and carries already.

    Afterwards no free square as wide as the least gap is left beside the bags of a layer.
    """
    least_mm = round(reference.parameter("void_least_mm").band.typical)
    found: list[Pad] = []
    for base in sorted({load.at_mm[2] for load in loads}):
        tall = int(min(load.size_mm[2] for load in loads if load.at_mm[2] == base) * _OF_THE_LOWEST)
        bodies = [*_bodies(box, loads, pads), *((pad.at_mm, pad.size_mm) for pad in found)]
        free = [(0, 0, box.inner_mm[0], box.inner_mm[1])]
        for at, size in bodies:
            if at[2] < base + tall and at[2] + size[2] > base:
                free = carved(free, (*at[:2], *size[:2]))
        while (largest := _largest(free, least_mm)) is not None:
            x, y, length, width = largest
            found.append(Pad(kind="void", at_mm=(x, y, base), size_mm=(length, width, tall)))
            free = carved(free, largest)
    return tuple(found)


def _bodies(box: ReadyBox, loads: Sequence[Load], pads: Sequence[Pad]) -> Iterator[tuple[Size, Size]]:
    yield from ((load.at_mm, load.size_mm) for load in loads)
    yield from ((pad.at_mm, pad.size_mm) for pad in pads)
    yield from ((pack.keep_at_mm, pack.keep_size_mm) for pack in box.packs)


def _largest(free: Sequence[Rect], least_mm: int) -> Rect | None:
    wide = [rect for rect in free if min(rect[2:]) >= least_mm]
    return max(wide, key=lambda rect: (rect[2] * rect[3], rect), default=None)

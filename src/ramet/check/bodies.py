"""Solid bodies in a box: where they meet, what they stand on. Whole millimetres, axis-parallel blocks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from ramet.formats.plan import Bag, Box, Pack, Pad, Plan

BodyKind = Literal["bag", "pack", "board", "fill", "void"]
Mm3 = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Body:
    """A block with its lower corner, measured from an inner corner of the box, z up."""

    name: str
    kind: BodyKind
    at_mm: Mm3
    size_mm: Mm3

    @property
    def end_mm(self) -> Mm3:
        """The upper corner."""
        (x, y, z), (dx, dy, dz) = self.at_mm, self.size_mm
        return (x + dx, y + dy, z + dz)

    @property
    def base_mm2(self) -> int:
        """Area of the footprint."""
        return self.size_mm[0] * self.size_mm[1]


def bodies_in(plan: Plan, box: Box) -> tuple[Body, ...]:
    """Return every body of a box: the bags that name it, its packs, its boards and its fill."""
    bags = [_of_bag(bag) for bag in plan.bags if bag.box == box.id]
    packs = [_of_pack(pack, number) for number, pack in enumerate(box.packs, start=1)]
    pads = [_of_pad(pad, number) for number, pad in enumerate(box.pads, start=1)]
    return (*bags, *packs, *pads)


def overlap(one: Body, other: Body, gap_mm: int = 0) -> bool:
    """Tell whether two bodies share room, or come nearer than `gap_mm` along every axis."""
    return all(
        a < b_end + gap_mm and b < a_end + gap_mm
        for a, a_end, b, b_end in zip(one.at_mm, one.end_mm, other.at_mm, other.end_mm, strict=True)
    )


def inside(body: Body, inner_mm: Mm3) -> bool:
    """Tell whether a body lies wholly within a box."""
    return all(end <= most for end, most in zip(body.end_mm, inner_mm, strict=True))


def shared_footprint_mm2(one: Body, other: Body) -> int:
    """Return the area that two footprints share when seen from above."""
    shared = 1
    for axis in (0, 1):
        low = max(one.at_mm[axis], other.at_mm[axis])
        high = min(one.end_mm[axis], other.end_mm[axis])
        shared *= max(0, high - low)
    return shared


def pairs(bodies: Sequence[Body]) -> Iterator[tuple[Body, Body]]:
    """Yield every pair of bodies once."""
    for index, one in enumerate(bodies):
        for other in bodies[index + 1 :]:
            yield one, other


def carriers(body: Body, bodies: Sequence[Body]) -> tuple[tuple[Body, int], ...]:
    """Return the bodies whose top the underside of `body` touches, each with the area of contact."""
    return tuple(
        (other, area)
        for other in bodies
        if other is not body and other.end_mm[2] == body.at_mm[2]
        for area in (shared_footprint_mm2(body, other),)
        if area > 0
    )


def below(body: Body, bodies: Sequence[Body]) -> tuple[Body, ...]:
    """Return the bodies that lie somewhere under `body`, touching or not."""
    return tuple(
        other
        for other in bodies
        if other is not body and other.end_mm[2] <= body.at_mm[2] and shared_footprint_mm2(body, other) > 0
    )


def _of_bag(bag: Bag) -> Body:
    return Body(bag.id, "bag", bag.at_mm, bag.size_mm)


def _of_pack(pack: Pack, number: int) -> Body:
    return Body(f"pack {number} ({pack.kind})", "pack", pack.at_mm, pack.size_mm)


def _of_pad(pad: Pad, number: int) -> Body:
    return Body(f"{pad.kind} {number}", pad.kind, pad.at_mm, pad.size_mm)

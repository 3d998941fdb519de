"""Bags in their boxes: what the solver chose, back in units, with the orders of sealing and opening."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ramet.optimise.problem import Placed, Result
from ramet.services.planning.bag_options import Judged, Parcel
from ramet.services.planning.bagging import Size, Way
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.gather import Clockwork


@dataclass(frozen=True, slots=True)
class Load:
    """One bag in its box. Orders count from 1 over the whole shipment."""

    id: str
    parcel: Parcel
    judged: Judged
    box: str
    at_mm: Size
    size_mm: Size
    sealing_order: int = 0
    opening_order: int = 0
    needed_h: float = 0.0

    @property
    def way(self) -> Way:
        """How the bag is made."""
        return self.judged.way


def to_loads(
    result: Result, parcels: Sequence[Parcel], boxes: Sequence[ReadyBox], clock: Clockwork
) -> tuple[Load, ...]:
    """Return the chosen bags with places, named by box and number, in a first order by expected margin."""
    found = [_load(placed, parcels, boxes) for placed in result.placed]
    expected = {load.parcel.id: load.judged.margin_h for load in found}
    return in_order(_named(found), {load.id: expected[load.parcel.id] for load in _named(found)}, clock)


def in_order(loads: Sequence[Load], slack_h: Mapping[str, float], clock: Clockwork) -> tuple[Load, ...]:
    """Return the loads with their orders and the time each needs.

    Sealed from the bottom layer up and from the most slack to the least; opened from the least slack on.
    """
    sealing = sorted(loads, key=lambda one: (one.at_mm[2], -slack_h[one.id], one.id))
    opening = sorted(loads, key=lambda one: (slack_h[one.id], one.id))
    sealed = {load.id: place for place, load in enumerate(sealing, start=1)}
    opened = {load.id: place for place, load in enumerate(opening, start=1)}
    return tuple(
        replace(
            load,
            sealing_order=sealed[load.id],
            opening_order=opened[load.id],
            needed_h=clock.needed_h(len(loads), sealed[load.id], opened[load.id]),
        )
        for load in loads
    )


def _load(placed: Placed, parcels: Sequence[Parcel], boxes: Sequence[ReadyBox]) -> Load:
    parcel = parcels[placed.item]
    return Load(
        id="",
        parcel=parcel,
        judged=parcel.ways[placed.choice],
        box=boxes[placed.bin].id,
        at_mm=placed.at_mm,
        size_mm=placed.size_mm,
    )


def _named(loads: Sequence[Load]) -> tuple[Load, ...]:
    """Number the bags within each box, bottom layer first, from the back left corner."""
    named = []
    for box in sorted({load.box for load in loads}):
        inside = sorted(
            (load for load in loads if load.box == box),
            key=lambda one: (one.at_mm[2], one.at_mm[1], one.at_mm[0]),
        )
        named += [replace(load, id=f"{box}{number}") for number, load in enumerate(inside, start=1)]
    return tuple(named)

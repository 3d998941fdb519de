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
    sealed_before_h: float = 0.0
    opening_order: int = 0
    needed_h: float = 0.0

    @property
    def way(self) -> Way:
        """How the bag is made."""
        return self.judged.way


def to_loads(
    result: Result, parcels: Sequence[Parcel], boxes: Sequence[ReadyBox], clock: Clockwork
) -> tuple[Load, ...]:
    """Return the chosen bags with places and names, in the order of boxes and names.

    Sealed from the bottom layer up, and from the widest expected margin to the thinnest; the order of opening
    waits for the forecast.
    """
    named = _named([_load(placed, parcels, boxes) for placed in result.placed])
    sealing = sorted(named, key=lambda one: (one.at_mm[2], -one.judged.margin_h, one.id))
    place = {load.id: number for number, load in enumerate(sealing, start=1)}
    ordered = [replace(load, sealing_order=place[load.id]) for load in named]
    return tuple(
        replace(load, sealed_before_h=clock.sealed_before_h(len(named), load.sealing_order))
        for load in ordered
    )


def in_opening_order(
    loads: Sequence[Load], hold_h: Mapping[str, float], clock: Clockwork, thinnest_first: bool = True
) -> tuple[Load, ...]:
    """Return the loads with the order in which to open them, and the time each needs.

    Thinnest first, or, where that rule is off, box by box from the top.
    """
    slack_h = {load.id: hold_h[load.id] - load.sealed_before_h for load in loads}
    if thinnest_first:
        opening = sorted(loads, key=lambda one: (slack_h[one.id], one.id))
    else:
        opening = sorted(loads, key=lambda one: (one.box, -one.at_mm[2], slack_h[one.id], one.id))
    place = {load.id: number for number, load in enumerate(opening, start=1)}
    return tuple(
        replace(
            load,
            opening_order=place[load.id],
            needed_h=clock.needed_from_h(load.sealed_before_h, place[load.id]),
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

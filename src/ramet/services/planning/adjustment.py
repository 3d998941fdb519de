"""A plan's boxes with something done differently: fuller bags, another gas, other packs, another hour."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.domain.words import Gas
from ramet.reference.tables import Reference
from ramet.science.packed import HeatPack, PackedBag, PackedBox
from ramet.services.planning.packed_bags import OXYGEN_SHARE
from ramet.services.planning.planned_journey import Boxes, PlannedJourney
from ramet.services.trials.transit_inputs import heat_pack

_WHERE = "what-if"
_FURTHEST_SHIFT_H = 48.0
_LONGEST_WAIT_H = 72.0
_LEAST_GAS_SHARE = 0.05
"""A bag tied with less gas over its water than this is as good as full."""


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What is done differently; with all left alone, as planned.

    Parameters
    ----------
    water_factor
        Water of each bag of corals against the planned; its gas takes or gives the place.
    gas
        What these bags are filled with; None as planned.
    layers
        Bags one inside the other, at least; None as planned. Cups stay as they are.
    heat_packs
        So many more in each box, or fewer where below 0.
    leaves_h
        Hours later that the boxes leave, all legs with them; below 0 earlier.
    waits_h
        Hours that they wait where a delay would hold them.
    bags
        Only these bags are filled differently; None means all.
    """

    water_factor: float = 1.0
    gas: Gas | None = None
    layers: int | None = None
    heat_packs: int = 0
    leaves_h: float = 0.0
    waits_h: float = 0.0
    bags: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Room:
    """How far a plan can be adjusted: bounds of the water factor and of further heat packs, and the hours."""

    water_factor_low: float
    water_factor_high: float
    heat_packs_low: int
    heat_packs_high: int
    leaves_h: float = _FURTHEST_SHIFT_H
    waits_h: float = _LONGEST_WAIT_H


def room_for(reference: Reference, planned: PlannedJourney, bags: frozenset[str] | None = None) -> Room:
    """Return how far some bags of a plan, and its boxes, can be adjusted."""
    living = [bag for bag in living_bags(planned.boxes) if bags is None or bag.id in bags]
    packs = [len(box.heat_packs) for box in planned.boxes]
    most = round(reference.parameter("what_if_most_packs").band.typical)
    return Room(
        water_factor_low=max((least_water_l(reference, bag) / bag.water_l for bag in living), default=1.0),
        water_factor_high=min((_most_water_l(bag) / bag.water_l for bag in living), default=1.0),
        heat_packs_low=-max(packs, default=0),
        heat_packs_high=0 if planned.told.heat_packs == "no" else most,
    )


def adjusted(reference: Reference, planned: PlannedJourney, wish: Adjustment) -> Boxes:
    """Return the boxes of a plan packed differently. Raises BadInput with all that cannot be done."""
    problems = adjustment_problems(reference, planned, wish)
    if problems:
        raise BadInput(problems)
    boxes = planned.boxes
    if wish.water_factor != 1.0 or wish.gas is not None or wish.layers is not None:
        boxes = _with_bags(boxes, lambda bag: _refilled(bag, wish), wish.bags)
    if wish.heat_packs != 0:
        boxes = tuple(_with_packs(reference, planned, box, wish.heat_packs) for box in boxes)
    return boxes


def adjustment_problems(reference: Reference, planned: PlannedJourney, wish: Adjustment) -> list[Problem]:
    """Return what of a wish cannot be done with this plan."""
    known = {bag.id for bag in living_bags(planned.boxes)}
    strange = sorted((wish.bags or frozenset()) - known)
    room = room_for(reference, planned, wish.bags)
    low, high = room.water_factor_low, room.water_factor_high
    found: list[tuple[str, object, str]] = [
        ("bags", id, "a bag of corals of this plan: " + ", ".join(sorted(known))) for id in strange
    ]
    if wish.water_factor != 1.0 and not low <= wish.water_factor <= high:
        kept = f"{low:.2f} to {high:.2f} times the planned water, so that corals stay covered and gas is left"
        found.append(("water_factor", f"{wish.water_factor:g}", kept))
    if wish.layers is not None and not 1 <= wish.layers <= 3:
        found.append(("layers", wish.layers, "1 to 3 bags, one inside the other"))
    if not room.heat_packs_low <= wish.heat_packs <= room.heat_packs_high:
        found.append(("heat_packs", wish.heat_packs, _packs_words(planned, room)))
    if not abs(wish.leaves_h) <= room.leaves_h:
        found.append(("leaves_h", f"{wish.leaves_h:g}", f"at most {room.leaves_h:g} h earlier or later"))
    if not 0 <= wish.waits_h <= room.waits_h:
        found.append(("waits_h", f"{wish.waits_h:g}", f"0 to {room.waits_h:g} h"))
    return [Problem(Place(_WHERE, None, key), str(value), expected) for key, value, expected in found]


def living_bags(boxes: Sequence[PackedBox]) -> list[PackedBag]:
    """Return the bags of corals, without those of goods."""
    return [bag for box in boxes for bag in box.bags if bag.animals]


def least_water_l(reference: Reference, bag: PackedBag) -> float:
    """Return the water that keeps the corals of a bag submerged [L]."""
    surface_cm2 = sum(one.contour_area_cm2.typical for one in bag.animals)
    return reference.parameter("least_water_ml_cm2").band.typical * 1e-3 * surface_cm2


def lasting_pack(reference: Reference, lasts_h: float) -> HeatPack:
    """Return the shortest-lived heat pack that lasts so long, else the longest-lived."""
    warm = sorted((row.lasts_h, row.id) for row in reference.packs.values() if row.warms)
    kind = next((id for hours, id in warm if hours >= lasts_h), warm[-1][1])
    return heat_pack(reference.packs[kind])


def _most_water_l(bag: PackedBag) -> float:
    return (1.0 - _LEAST_GAS_SHARE) * (bag.water_l + bag.gas_l)


def _packs_words(planned: PlannedJourney, room: Room) -> str:
    if planned.told.heat_packs == "no":
        return "none more: this carrier takes no heat packs"
    return f"{room.heat_packs_low} to {room.heat_packs_high} more in each box"


def _with_bags(boxes: Boxes, change: Callable[[PackedBag], PackedBag], only: frozenset[str] | None) -> Boxes:
    def changed(bag: PackedBag) -> PackedBag:
        return change(bag) if bag.animals and (only is None or bag.id in only) else bag

    return tuple(replace(box, bags=tuple(changed(bag) for bag in box.bags)) for box in boxes)


def _refilled(bag: PackedBag, wish: Adjustment) -> PackedBag:
    """Return a bag filled as wished. Its water's surface is taken as it was: right for a bag that stands."""
    water = bag.water_l * wish.water_factor
    layers = bag.layers if wish.layers is None or bag.rigid else max(wish.layers, bag.layers)
    share = bag.oxygen_fraction if wish.gas is None else OXYGEN_SHARE[wish.gas]
    gas = bag.gas_l + bag.water_l - water
    return replace(bag, water_l=water, gas_l=gas, oxygen_fraction=share, layers=layers)


def _with_packs(reference: Reference, planned: PlannedJourney, box: PackedBox, more: int) -> PackedBox:
    if more < 0:
        return replace(box, heat_packs=box.heat_packs[-more:])
    head = planned.plan.shipment
    road_h = (head.due - head.departs).total_seconds() / 3600
    pack = box.heat_packs[0] if box.heat_packs else lasting_pack(reference, road_h)
    return replace(box, heat_packs=(*box.heat_packs, *([pack] * more)))

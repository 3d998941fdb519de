"""What would change the margins of a plan: its packed boxes with one thing different, over the same draws."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from ramet.formats.transit_result import WhatIfRow
from ramet.science.journey import delayed, forecast
from ramet.science.packed import PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import draw
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load
from ramet.services.planning.packed_bags import packed_bag, placed_bag
from ramet.services.planning.road import box_on_the_road, horizon_h, journey_air
from ramet.services.transit_inputs import heat_pack, lateness, surroundings, transit_parameters
from ramet.services.what_if import AS_WRITTEN, against_first, what_if_row

_ENRICHED = 0.5
Boxes = tuple[PackedBox, ...]


@dataclass(frozen=True, slots=True)
class PlanChange:
    """One thing done differently with the boxes of a plan: other boxes, another hour, or a wait."""

    code: str
    words: str
    boxes: Boxes
    leaves_h: float = 0.0
    waits_h: float = 0.0


def plan_what_ifs(
    inputs: Inputs, boxes: Sequence[ReadyBox], loads: Sequence[Load], draws: int = 256
) -> tuple[WhatIfRow, ...]:
    """Return a row for each bag of a plan under each change that makes sense for it, as planned first.

    The set, the bags and their places stay as planned; each bag keeps its own time needed. Where the water of
    a bag changes, its surface is taken as it was.
    """
    rows: list[WhatIfRow] = []
    by_air: dict[tuple[float, float], list[PlanChange]] = {}
    for change in _changes(inputs, _packed(inputs, boxes, loads)):
        by_air.setdefault((change.leaves_h, change.waits_h), []).append(change)
    needed = {load.id: load.needed_h for load in loads}
    for alike in by_air.values():
        rows += _rows(inputs, alike, needed, draws)
    return against_first(rows)


def _packed(inputs: Inputs, boxes: Sequence[ReadyBox], loads: Sequence[Load]) -> Boxes:
    found = []
    for box in boxes:
        inside = [load for load in loads if load.box == box.id]
        bags = [packed_bag(one.id, one.way, one.parcel.living, inputs, one.sealed_before_h) for one in inside]
        placed = [placed_bag(bag, one.at_mm, one.size_mm) for bag, one in zip(bags, inside, strict=True)]
        found.append(box_on_the_road(inputs, box, placed))
    return tuple(box for box in found if box.bags)


def _changes(inputs: Inputs, boxes: Boxes) -> Iterator[PlanChange]:
    yield PlanChange(AS_WRITTEN, "as planned", boxes)
    yield from _fillings(inputs, boxes)
    yield from _packs(inputs, boxes)
    shift = _typical(inputs, "what_if_shift_h")
    yield PlanChange("earlier", f"leave {shift:g} h earlier, all legs with it", boxes, leaves_h=-shift)
    yield PlanChange("later", f"leave {shift:g} h later, all legs with it", boxes, leaves_h=shift)
    wait = _typical(inputs, "what_if_depot_h")
    yield PlanChange("depot", f"held at the depot for {wait:g} h more", boxes, waits_h=wait)


def _fillings(inputs: Inputs, boxes: Boxes) -> Iterator[PlanChange]:
    share = _typical(inputs, "what_if_water_change")
    less = _with_bags(boxes, lambda bag: _filled(bag, bag.water_l * (1 - share)))
    least = _typical(inputs, "least_water_ml_cm2") * 1e-3
    if all(bag.water_l >= least * _surface_cm2(bag) for bag in _living(less)):
        yield PlanChange("less_water", f"{share:.0%} less water, gas in its place", less)
    if all(bag.gas_l > bag.water_l * share for bag in _living(boxes)):
        more = _with_bags(boxes, lambda bag: _filled(bag, bag.water_l * (1 + share)))
        yield PlanChange("more_water", f"{share:.0%} more water, less gas", more)
    if any(bag.oxygen_fraction < _ENRICHED for bag in _living(boxes)):
        rich = _typical(inputs, "what_if_oxygen_fraction")
        richer = _with_bags(boxes, lambda bag: replace(bag, oxygen_fraction=max(rich, bag.oxygen_fraction)))
        yield PlanChange("oxygen", "oxygen for air", richer)


def _packs(inputs: Inputs, boxes: Boxes) -> Iterator[PlanChange]:
    if inputs.shipment.carrier.heat_packs != "no":
        warm = sorted((row.lasts_h, row.id) for row in inputs.reference.packs.values() if row.warms)
        road_h = (inputs.shipment.due - inputs.shipment.leg[0].start).total_seconds() / 3600
        kind = next((id for lasts, id in warm if lasts >= road_h), warm[-1][1])
        pack = heat_pack(inputs.reference.packs[kind])
        more = tuple(
            replace(box, heat_packs=(*box.heat_packs, box.heat_packs[0] if box.heat_packs else pack))
            for box in boxes
        )
        yield PlanChange("more_heat", "one more heat pack in each box", more)
    if any(box.heat_packs for box in boxes):
        fewer = tuple(replace(box, heat_packs=box.heat_packs[1:]) for box in boxes)
        yield PlanChange("less_heat", "one heat pack fewer in each box", fewer)


def _rows(
    inputs: Inputs, alike: Sequence[PlanChange], needed: dict[str, float], draws: int
) -> Iterator[WhatIfRow]:
    parameters = transit_parameters(inputs.reference)
    scenarios = draw(parameters, lateness(inputs.shipment.delay), draws, inputs.seed)
    waits = alike[0].waits_h
    looked = horizon_h(inputs, len(needed)) + waits
    air = delayed(_air(inputs, alike[0].leaves_h), waits)
    journey = forecast([box for one in alike for box in one.boxes], air, parameters, scenarios, looked)
    place = 0
    for change in alike:
        for bag in (bag for box in change.boxes for bag in box.bags):
            words = (change.code, change.words, "")
            end = looked + bag.sealed_before_h
            yield what_if_row(journey, place, words, needed[bag.id] + waits, end)
            place += 1


def _air(inputs: Inputs, leaves_h: float) -> Surroundings:
    if leaves_h == 0:
        return journey_air(inputs)
    later = timedelta(hours=leaves_h)
    legs = [
        leg.model_copy(update={"start": leg.start + later, "end": leg.end + later})
        for leg in inputs.shipment.leg
    ]
    return surroundings(
        legs,
        ZoneInfo(inputs.shipment.sender.zone),
        _typical(inputs, "forecast_error_c"),
        _typical(inputs, "receiving_room_c"),
        None if inputs.shipment.delay is None else inputs.shipment.delay.at_leg,
    )


def _with_bags(boxes: Boxes, change: Callable[[PackedBag], PackedBag]) -> Boxes:
    """Return boxes with every bag of corals changed; goods stay as they are."""
    return tuple(
        replace(box, bags=tuple(change(bag) if bag.animals else bag for bag in box.bags)) for box in boxes
    )


def _filled(bag: PackedBag, water_l: float) -> PackedBag:
    return replace(bag, water_l=water_l, gas_l=bag.gas_l + bag.water_l - water_l)


def _living(boxes: Boxes) -> list[PackedBag]:
    return [bag for box in boxes for bag in box.bags if bag.animals]


def _surface_cm2(bag: PackedBag) -> float:
    return sum(one.contour_area_cm2.typical for one in bag.animals)


def _typical(inputs: Inputs, name: str) -> float:
    return inputs.reference.parameter(name).band.typical

"""The grower's usual way of packing beside a plan: the same boxes, corals, road and scenarios."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ramet.domain.words import Gas, Stance
from ramet.formats.plan import BagForecast, Plan
from ramet.formats.usual import Usual
from ramet.formats.usual_plan import UsualBag, UsualPlan
from ramet.reference.tables import Reference
from ramet.science.packed import PackedBag, PackedBox
from ramet.services.planning.adjustment import lasting_pack, least_water_l, living_bags
from ramet.services.planning.bagging import FilledBag
from ramet.services.planning.packed_bags import OXYGEN_SHARE
from ramet.services.planning.planned_journey import Boxes, PlannedJourney, planned_journey
from ramet.services.planning.what_ifs import forecast_boxes
from ramet.services.trials.transit_inputs import bag_geometry, heat_pack
from ramet.services.trials.usual_way import habit_words

Array = NDArray[np.float64]


def beside_usual(reference: Reference, plan: Plan, usual: Usual, sha256: str) -> UsualPlan | None:
    """Hold a habit against a plan; None for a plan that does not tell its journey.

    A bag keeps at least the water that covers its corals. A habit that names a bag of the catalogue puts each
    coral into one of these, standing, at no known place in its box.
    """
    planned = planned_journey(plan, reference)
    if planned is None:
        return None
    boxes = packed_as_usual(reference, planned, usual)
    forecast = forecast_boxes(reference, planned, boxes, plan.forecast.scenarios)
    water = {bag.id: bag.water_l for box in boxes for bag in box.bags}
    hours = np.array(forecast.hours)
    return UsualPlan(
        name=usual.name,
        words=habit_words(reference, usual),
        sha256=sha256,
        scenarios=forecast.scenarios,
        water_l=_litres(boxes),
        planned_water_l=_litres(planned.boxes),
        holding=sum(bag.margin_h >= 0 for bag in forecast.bags),
        planned_holding=sum(bag.margin_h >= 0 for bag in plan.forecast.bags),
        bags=tuple(_row(bag, water[bag.id], hours) for bag in forecast.bags),
    )


def packed_as_usual(reference: Reference, planned: PlannedJourney, usual: Usual) -> Boxes:
    """Return the boxes of a plan packed by habit; goods stay as they are."""
    closed_l = {bag.id: bag.closed_l for bag in planned.plan.bags}
    boxes = []
    for box in planned.boxes:
        bags = tuple(
            _bag(reference, usual, bag, closed_l[bag.id]) if bag.animals else bag for bag in box.bags
        )
        boxes.append(_with_packs(reference, planned, usual, replace(box, bags=bags)))
    return tuple(boxes)


def _bag(reference: Reference, usual: Usual, bag: PackedBag, closed_l: float) -> PackedBag:
    total = bag.water_l + bag.gas_l
    share = bag.water_l / total if usual.water_share is None else usual.water_share
    if usual.bag is not None:
        total = reference.bags[usual.bag].closed_l * (usual.fill_share or total / closed_l)
    least = least_water_l(reference, bag)
    water = max(total * share, least)
    bag = replace(bag, water_l=water, gas_l=max(total - water, 0.0))
    if usual.bag is not None:
        bag = _in_type(reference, usual.bag, bag, total)
    if usual.gas is not None:
        bag = replace(bag, oxygen_fraction=OXYGEN_SHARE[Gas(usual.gas)])
    return bag if usual.layers is None else replace(bag, layers=usual.layers)


def _in_type(reference: Reference, kind: str, bag: PackedBag, total_l: float) -> PackedBag:
    row = reference.bags[kind]
    body = FilledBag(row, total_l)
    across, tall = math.ceil(body.across_mm), math.ceil(body.long_mm)
    shape = bag_geometry(row, Stance.STANDS, bag.water_l, bag.gas_l)
    return replace(
        bag,
        film_um=row.film_um,
        layers=row.layers,
        rigid=row.rigid,
        surface_cm2=shape.surface_cm2,
        film_area_cm2=shape.film_area_cm2,
        size_mm=(across, across, tall),
        at_mm=None,
    )


def _with_packs(reference: Reference, planned: PlannedJourney, usual: Usual, box: PackedBox) -> PackedBox:
    if usual.heat_packs is None:
        return box
    if usual.heat_pack is not None:
        pack = heat_pack(reference.packs[usual.heat_pack])
    else:
        head = planned.plan.shipment
        road_h = (head.due - head.departs).total_seconds() / 3600
        pack = box.heat_packs[0] if box.heat_packs else lasting_pack(reference, road_h)
    return replace(box, heat_packs=(pack,) * usual.heat_packs)


def _row(bag: BagForecast, water_l: float, hours: Array) -> UsualBag:
    inside = hours <= bag.needed_h
    series = bag.series

    def typical(values: Sequence[float]) -> Array:
        return np.array(values)[inside]

    temperature = typical(series.temperature_c.p50)
    return UsualBag(
        id=bag.id,
        water_l=round(water_l, 3),
        hold_p05_h=bag.hold_h.p05,
        hold_p50_h=bag.hold_h.p50,
        margin_h=bag.margin_h,
        margin_late_h=bag.margin_late_h,
        chance_ok=bag.chance_ok,
        first_limit=bag.first_limit,
        coldest_c=float(temperature.min()),
        warmest_c=float(temperature.max()),
        least_oxygen_mg_l=float(typical(series.oxygen_mg_l.p50).min()),
        lowest_ph=float(typical(series.ph_total.p50).min()),
    )


def _litres(boxes: Boxes) -> float:
    return round(sum(bag.water_l for bag in living_bags(boxes)), 2)

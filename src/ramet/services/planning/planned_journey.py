"""The journey of a plan, read back from the plan alone: boxes and bags as the model saw them, the road."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo

from ramet.domain.band import Band
from ramet.formats.plan import Bag, Box, Plan
from ramet.formats.shipment import Delay
from ramet.formats.told_journey import Spread, ToldAnimal, ToldBag, ToldBox, ToldJourney, ToldLimit
from ramet.reference.tables import Reference
from ramet.science.late import delayed
from ramet.science.packed import Animal, Limit, PackedBag, PackedBox, Surroundings
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.gather import Inputs
from ramet.services.planning.packed_bags import LEAST_WATER_L
from ramet.services.planning.road import boxed, usual_c
from ramet.services.trials.transit_inputs import surroundings

Boxes = tuple[PackedBox, ...]


def told_journey(inputs: Inputs, ready: Sequence[ReadyBox], boxes: Sequence[PackedBox]) -> ToldJourney:
    """Return what the forecast of packed boxes was told, for the plan to keep."""
    foams = {box.id: box.type.foam for box in ready}
    return ToldJourney(
        legs=inputs.shipment.leg,
        delay=inputs.shipment.delay or Delay(at_leg=inputs.shipment.leg[-1].name),
        heat_packs=inputs.shipment.carrier.heat_packs,
        room_c=usual_c(inputs),
        boxes=tuple(ToldBox(id=box.id, foam=foams[box.id]) for box in boxes),
        bags=tuple(_told_bag(bag) for box in boxes for bag in box.bags),
    )


@dataclass(frozen=True, slots=True)
class PlannedJourney:
    """Boxes as planned, in the order of the plan's forecast, and what is needed to send them again."""

    plan: Plan
    told: ToldJourney
    boxes: Boxes
    needed_h: dict[str, float]

    def air(self, reference: Reference, leaves_h: float = 0.0, waits_h: float = 0.0) -> Surroundings:
        """Return the air around boxes that leave later, all legs with them, and wait on the way."""
        later = timedelta(hours=leaves_h)
        legs = [
            leg.model_copy(update={"start": leg.start + later, "end": leg.end + later})
            for leg in self.told.legs
        ]
        known = surroundings(
            legs,
            ZoneInfo(self.plan.shipment.sender_zone),
            reference.parameter("forecast_error_c").band.typical,
            reference.parameter("receiving_room_c").band.typical,
            self.told.delay.at_leg,
        )
        return delayed(known, waits_h)


def planned_journey(plan: Plan, reference: Reference) -> PlannedJourney | None:
    """Return the journey of a plan; None for a plan that does not tell it."""
    if plan.journey is None:
        return None
    told = {bag.id: bag for bag in plan.journey.bags}
    foams = {box.id: box.foam for box in plan.journey.boxes}
    rows = {bag.id: bag for bag in plan.bags}
    order = [one.id for one in plan.forecast.bags]
    boxes = tuple(
        boxed(
            reference,
            box.id,
            box.inner_mm,
            box.wall_mm,
            foams[box.id],
            [reference.packs[pack.kind] for pack in box.packs],
            plan.journey.room_c,
            [_packed_bag(rows[id], told[id]) for id in order if rows[id].box == box.id],
        )
        for box in _in_order(plan)
    )
    needed = {one.id: one.needed_h for one in plan.forecast.bags}
    return PlannedJourney(plan, plan.journey, boxes, needed)


def _in_order(plan: Plan) -> list[Box]:
    by_id = {box.id: box for box in plan.boxes}
    return [by_id[one.id] for one in plan.forecast.boxes]


def _packed_bag(row: Bag, told: ToldBag) -> PackedBag:
    return PackedBag(
        id=row.id,
        water_l=max(row.water_l, LEAST_WATER_L),
        gas_l=row.gas_l,
        oxygen_fraction=told.oxygen_fraction,
        film_um=row.film_um,
        layers=row.layers,
        film_area_cm2=told.film_area_cm2,
        surface_cm2=told.surface_cm2,
        start_c=told.start_c,
        salinity=told.salinity,
        alkalinity_meq_l=told.alkalinity_meq_l,
        ph_total=told.ph_total,
        size_mm=row.size_mm,
        at_mm=row.at_mm,
        animals=tuple(_animal(one) for one in told.animals),
        blank_umol_h=Band(*told.blank_umol_h),
        limits=tuple(Limit(**one.model_dump()) for one in told.limits),
        sealed_before_h=told.sealed_before_h,
        rigid=told.rigid,
    )


def _animal(told: ToldAnimal) -> Animal:
    return Animal(
        Band(*told.tissue_area_cm2),
        Band(*told.respiration_umol_cm2_h),
        Band(*told.contour_area_cm2),
        Band(*told.calcification_meq_cm2_d),
        told.symbiotic,
        told.q10,
    )


def _told_bag(bag: PackedBag) -> ToldBag:
    return ToldBag(
        id=bag.id,
        sealed_before_h=bag.sealed_before_h,
        oxygen_fraction=bag.oxygen_fraction,
        rigid=bag.rigid,
        surface_cm2=bag.surface_cm2,
        film_area_cm2=bag.film_area_cm2,
        start_c=bag.start_c,
        salinity=bag.salinity,
        alkalinity_meq_l=bag.alkalinity_meq_l,
        ph_total=bag.ph_total,
        blank_umol_h=_spread(bag.blank_umol_h),
        animals=tuple(_told_animal(one) for one in bag.animals),
        limits=tuple(_told_limit(one) for one in bag.limits),
    )


def _told_animal(one: Animal) -> ToldAnimal:
    return ToldAnimal(
        tissue_area_cm2=_spread(one.tissue_area_cm2),
        respiration_umol_cm2_h=_spread(one.respiration_umol_cm2_h),
        contour_area_cm2=_spread(one.contour_area_cm2),
        calcification_meq_cm2_d=_spread(one.calcification_meq_cm2_d),
        symbiotic=one.symbiotic,
        q10=one.q10,
    )


def _told_limit(one: Limit) -> ToldLimit:
    return ToldLimit.model_validate(
        {
            "code": one.code,
            "quantity": one.quantity,
            "below": one.below,
            "level": one.level,
            "hours": one.hours,
            "ends_hold": one.ends_hold,
        }
    )


def _spread(band: Band) -> Spread:
    return (band.low, band.typical, band.high)

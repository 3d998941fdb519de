"""One bag of this plan as the journey model sees it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ramet.domain.band import Band, exactly
from ramet.domain.piece import WaterRecord
from ramet.domain.words import BagClass, Gas, How, Tolerance
from ramet.formats.shipment import Goods
from ramet.reference.tables import Reference
from ramet.science.packed import Animal, Limit, PackedBag
from ramet.science.spread import total
from ramet.services.growing.piece_areas import areas
from ramet.services.planning.bagging import Content, Size, Way
from ramet.services.planning.candidates import Candidate
from ramet.services.planning.gather import Inputs
from ramet.services.trials.transit_inputs import animal, bag_geometry, blank_umol_h, limits_for

MEDIA_TOLERANCE = Tolerance.HARDY
LEAST_WATER_L = 0.005
"""A bag of damp goods has at least so much water in it."""
OXYGEN_SHARE = {Gas.AIR: 0.2095, Gas.OXYGEN: 0.95}
"""Oxygen in the gas that a bag is filled with."""
_ROCK = "rock"
"""What the stock list says of a piece that stands on live rock."""


@dataclass(frozen=True, slots=True)
class Living:
    """What breathes in a bag, what it can bear, and the water it comes from.

    `wet_surface_cm2` is what gas meets where damp goods, not standing water, fill the bag.
    """

    content: Content
    animals: tuple[Animal, ...]
    blank_umol_h: Band
    limits: tuple[Limit, ...]
    water: WaterRecord
    defaults_used: tuple[str, ...] = ()
    wet_surface_cm2: float | None = None


def living_corals(together: Sequence[Candidate], inputs: Inputs) -> Living:
    """Return candidates of one strain as content of one bag; each counts as large as the largest.

    So one pocket of a divided bag is judged by the piece that needs most.
    """
    reference, first = inputs.reference, together[0]
    largest = max(together, key=lambda one: (one.size_mm[0] * one.size_mm[1] * one.size_mm[2], one.piece))
    size = areas(reference, largest.taxon, largest.form, *largest.size_mm, largest.heads)
    breathing, defaults = animal(reference, largest.taxon, largest.form, size.tissue_cm2, size.contour_cm2)
    length, width, height = (max(one.size_mm[axis] for one in together) for axis in range(3))
    mass_g = sum(_coral_g(one, inputs) for one in together)
    return Living(
        content=Content((length, width, height), mass_g, first.bag_class, first.form, pieces=len(together)),
        animals=(breathing,) * len(together),
        blank_umol_h=_blank(reference, together, size.footprint_cm2),
        limits=limits_for(reference, first.taxon, first.form),
        water=source_water(inputs, first.stock.system),
        defaults_used=defaults,
    )


def _blank(reference: Reference, together: Sequence[Candidate], footprint_cm2: Band) -> Band:
    """Return the demand of the mounts: whole pieces on rock bring the rock under them, others a plug."""
    mounts = [
        footprint_cm2 if one.how is How.WHOLE and _ROCK in (one.stock.mounted_on or "").casefold() else None
        for one in together
    ]
    return total(blank_umol_h(reference, rock_cm2) for rock_cm2 in mounts)


def living_goods(goods: Goods, inputs: Inputs) -> Living:
    """Return goods as content of a bag: damp media with the oxygen demand of their film."""
    area_m2 = goods.area_m2 or inputs.reference.parameter("media_block_area_m2").band.typical
    demand = inputs.reference.parameter("matured_media_umol_m2_h").band.scaled(area_m2)
    system = goods.system or (inputs.stock.water[0].system if inputs.stock.water else "")
    return Living(
        content=Content(goods.size_mm, goods.mass_g, BagClass.GOODS, fixed_water_l=goods.water_l),
        animals=(),
        blank_umol_h=demand if goods.kind == "matured_media" else exactly(0.0),
        limits=_limits_of_media(inputs) if goods.kind == "matured_media" else (),
        water=source_water(inputs, system),
        wet_surface_cm2=area_m2 * 1e4 * inputs.reference.parameter("damp_exposed_share").band.typical,
    )


def limit_words(inputs: Inputs, one: Candidate | None) -> dict[str, str]:
    """Return the words of each limit by its code, for the bag of a coral, or of goods."""
    tolerance = MEDIA_TOLERANCE
    if one is not None:
        genus = inputs.reference.genus(one.taxon)
        tolerance = Tolerance.ORDINARY if genus is None else genus.tolerance
    return {row.code: row.words for row in inputs.reference.limits(tolerance)}


def packed_bag(id: str, way: Way, living: Living, inputs: Inputs, sealed_before_h: float) -> PackedBag:
    """Return a bag whose place in its box is not known yet."""
    shape = bag_geometry(way.type, way.stance, way.water_l, way.gas_l)
    ph = living.water.ph or inputs.reference.parameter("start_ph").band.typical
    return PackedBag(
        id=id,
        water_l=max(way.water_l, LEAST_WATER_L),
        gas_l=way.gas_l,
        oxygen_fraction=OXYGEN_SHARE[way.gas],
        film_um=way.type.film_um,
        layers=way.layers,
        film_area_cm2=shape.film_area_cm2,
        surface_cm2=living.wet_surface_cm2 or shape.surface_cm2,
        start_c=living.water.temperature_c,
        salinity=living.water.salinity,
        alkalinity_meq_l=living.water.alkalinity_meq_l,
        ph_total=ph,
        size_mm=way.size_mm,
        at_mm=None,
        animals=living.animals,
        blank_umol_h=living.blank_umol_h,
        limits=living.limits,
        sealed_before_h=sealed_before_h,
        rigid=way.type.rigid,
    )


def placed_bag(bag: PackedBag, at_mm: Size, size_mm: Size) -> PackedBag:
    """Return the bag at its place in the box."""
    return replace(bag, at_mm=at_mm, size_mm=size_mm)


def source_water(inputs: Inputs, system: str) -> WaterRecord:
    """Return the newest record of a system's water, else what the tables hold as usual for grow-out water."""
    for record in inputs.stock.water:
        if record.system.casefold() == system.casefold():
            return record
    usual = {
        name: inputs.reference.parameter(f"usual_{name}").band.typical
        for name in ("temperature_c", "salinity", "alkalinity_meq_l")
    }
    return WaterRecord(system=system, on=inputs.today, **usual)


def _limits_of_media(inputs: Inputs) -> tuple[Limit, ...]:
    """Media are borne through cold, heat and want of oxygen like hardy corals; ammonia is their food."""
    return tuple(
        Limit(row.code, row.quantity, row.below, row.level, row.hours, row.ends_hold)
        for row in inputs.reference.limits(MEDIA_TOLERANCE)
        if row.quantity != "opened_ammonia_umol_l"
    )


def _coral_g(one: Candidate, inputs: Inputs) -> float:
    """Return the mass of a mounted piece: its enclosing block at a bulk density, and its plug."""
    block_cm3 = one.size_mm[0] * one.size_mm[1] * one.size_mm[2] / 1000
    bulk = inputs.reference.parameter("coral_bulk_g_cm3").band.typical
    return block_cm3 * bulk + inputs.reference.parameter("plug_kg").band.typical * 1000

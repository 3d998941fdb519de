"""What the receiving tank can still take, as scarce resources of the choice."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ramet.formats.receiving import Tank
from ramet.reference.tables import Reference
from ramet.services.growing.piece_areas import areas
from ramet.services.planning.candidates import Candidate
from ramet.services.planning.gather import Inputs
from ramet.services.receiving.ammonia_load import ammonia_ug_d, biofilter_room_ug_d
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.demand import background_ueq_d, demand_ueq_d
from ramet.services.receiving.spots import Spot, spots
from ramet.services.receiving.supply import supply_ueq_d

ALKALINITY = "alkalinity supply of the tank (µeq a day)"
AMMONIA = "biofilter of the tank (µg of nitrogen a day)"
FLOOR = "floor of the tank's zones (cm²)"
SPOTS = "spots of the tank"
_PER_SHOWN = {ALKALINITY: (1000, "meq"), AMMONIA: (1000, "mg")}


@dataclass(frozen=True, slots=True)
class TankRoom:
    """Capacities of the tank by name, unit included, and what each candidate uses of them."""

    inputs: Inputs
    capacities: Mapping[str, int]

    def uses(self, one: Candidate) -> dict[str, int]:
        """Return what a candidate takes of each capacity on its first day."""
        reference, tank = self.inputs.reference, self.inputs.shipment.tank
        ground = math.ceil(
            areas(reference, one.taxon, one.form, *one.size_mm, one.heads).footprint_cm2.typical
        )
        lit = _light_range(reference, one)
        taken = {
            ALKALINITY: math.ceil(demand_ueq_d(reference, tank, arriving(one)).typical),
            AMMONIA: ammonia_ug_d(reference, arriving(one)),
            FLOOR: ground,
            SPOTS: 1,
            _with_light(SPOTS, lit): 1,
            _with_light(FLOOR, lit): ground,
        }
        return {name: amount for name, amount in taken.items() if name in self.capacities}


def tank_room(inputs: Inputs, candidates: Sequence[Candidate] = ()) -> TankRoom:
    """Return what is free in the receiving tank. What a tank does not state (supply, media,
    zones, spots) caps nothing here; the report on the tank says so.

    For the ranges of light that the candidates need, the spots (or the floor of zones) that have such light
    are counted as well.
    """
    tank, reference = inputs.shipment.tank, inputs.reference
    journey_h = (inputs.clock.due - inputs.clock.departs).total_seconds() / 3600
    supply = supply_ueq_d(reference, tank)
    capacities: dict[str, int] = {}
    if supply > 0:
        own_use = background_ueq_d(reference, tank).typical
        capacities[ALKALINITY] = max(0, math.floor(supply - own_use))
    if tank.media or any(goods.kind == "matured_media" for goods in inputs.shipment.goods):
        capacities[AMMONIA] = biofilter_room_ug_d(reference, tank, inputs.shipment.goods, journey_h)
    ranges = {_light_range(reference, one) for one in candidates}
    capacities |= dict(_spots(reference, tank, ranges) if has_places(tank) else _floor(tank, ranges))
    return TankRoom(inputs, capacities)


def has_places(tank: Tank) -> bool:
    """Tell whether the file says where there is something to glue to."""
    return bool(tank.spot or tank.rock_heights_mm)


def scarce_words(name: str, capacity: int, used: int, one_more: int) -> tuple[str, str]:
    """Return why one more does not fit, by the number that binds, and what would change it."""
    per, unit = _PER_SHOWN.get(name, (1, ""))

    def told(amount: float) -> str:
        return f"{amount / per:.4g}{' ' + unit if unit else ''}"

    text = f"{name.split(' (')[0]}: {told(capacity)} in all, {told(used)} taken by what goes; one more takes "
    a_day = " a day" if "a day" in name else ""
    return (
        f"{text}{told(one_more)}{a_day}",
        f"{told(max(1, used + one_more - capacity))}{a_day} more {name.split(' (')[0]}",
    )


def arriving(one: Candidate, bag: str | None = None, rank: int = 0) -> ArrivingPiece:
    """Return a candidate as the receiving tank's models see it."""
    return ArrivingPiece(
        piece=one.piece,
        taxon=one.taxon,
        form=one.form,
        size_mm=one.size_mm,
        heads=one.heads,
        source_par=one.stock.par,
        bag=bag,
        rank=rank,
    )


def _light_range(reference: Reference, one: Candidate) -> tuple[int, int]:
    band = reference.trait(one.taxon, one.form, "light_par").band
    return round(band.low), round(band.high)


def _with_light(what: str, lit: tuple[int, int]) -> str:
    return f"{what} with {lit[0]}–{lit[1]} µmol/m²/s of light"


def _spots(reference: Reference, tank: Tank, ranges: set[tuple[int, int]]) -> Iterator[tuple[str, int]]:
    places = spots(reference, tank)
    yield SPOTS, len(places)
    for lit in sorted(ranges):
        able = sum(_lit(spot, lit) for spot in places)
        if able < len(places):
            yield _with_light(SPOTS, lit), able


def _floor(tank: Tank, ranges: set[tuple[int, int]]) -> Iterator[tuple[str, int]]:
    if not tank.zone:
        return
    yield FLOOR, math.floor(sum(zone.area_cm2 for zone in tank.zone))
    for low, high in sorted(ranges):
        able = [zone for zone in tank.zone if zone.par_low <= high and zone.par_high >= low]
        if len(able) < len(tank.zone):
            yield _with_light(FLOOR, (low, high)), math.floor(sum(zone.area_cm2 for zone in able))


def _lit(spot: Spot, lit: tuple[int, int]) -> bool:
    light = spot.light
    return light is None or not (light.low > lit[1] or light.high < lit[0])

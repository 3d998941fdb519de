"""What the receiving tank can still take, as scarce resources of the choice."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ramet.services.piece_areas import areas
from ramet.services.planning.candidates import Candidate
from ramet.services.planning.gather import Inputs
from ramet.services.receiving.ammonia_load import ammonia_ug_d, biofilter_room_ug_d
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.demand import background_ueq_d, demand_ueq_d
from ramet.services.receiving.supply import supply_ueq_d

ALKALINITY = "alkalinity supply of the tank (µeq a day)"
AMMONIA = "biofilter of the tank (µg of nitrogen a day)"
FLOOR = "floor of the tank's zones (cm²)"


@dataclass(frozen=True, slots=True)
class TankRoom:
    """Capacities of the tank by name, unit included, and what each candidate uses of them."""

    inputs: Inputs
    capacities: Mapping[str, int]

    def uses(self, one: Candidate) -> dict[str, int]:
        """Return what a candidate takes of each capacity on its first day."""
        reference, tank = self.inputs.reference, self.inputs.shipment.tank
        ground = areas(reference, one.taxon, one.form, *one.size_mm, one.heads).footprint_cm2
        taken = {
            ALKALINITY: math.ceil(demand_ueq_d(reference, tank, arriving(one)).typical),
            AMMONIA: ammonia_ug_d(reference, arriving(one)),
            FLOOR: math.ceil(ground.typical),
        }
        return {name: amount for name, amount in taken.items() if name in self.capacities}


def tank_room(inputs: Inputs) -> TankRoom:
    """Return what is free in the receiving tank. What a tank does not state (supply, media,
    zones) caps nothing here; the report on the tank says so.
    """
    tank = inputs.shipment.tank
    journey_h = (inputs.clock.due - inputs.clock.departs).total_seconds() / 3600
    supply = supply_ueq_d(inputs.reference, tank)
    capacities: dict[str, int] = {}
    if supply > 0:
        own_use = background_ueq_d(inputs.reference, tank).typical
        capacities[ALKALINITY] = max(0, math.floor(supply - own_use))
    if tank.media or any(goods.kind == "matured_media" for goods in inputs.shipment.goods):
        capacities[AMMONIA] = biofilter_room_ug_d(inputs.reference, tank, inputs.shipment.goods, journey_h)
    if tank.zone:
        capacities[FLOOR] = math.floor(sum(zone.area_cm2 for zone in tank.zone))
    return TankRoom(inputs, capacities)


def arriving(one: Candidate, bag: str | None = None) -> ArrivingPiece:
    """Return a candidate as the receiving tank's models see it."""
    return ArrivingPiece(
        piece=one.piece,
        taxon=one.taxon,
        form=one.form,
        size_mm=one.size_mm,
        heads=one.heads,
        source_par=one.stock.par,
        bag=bag,
    )

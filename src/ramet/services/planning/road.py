"""The route and the boxes on it, as the journey model is told of them."""

from collections.abc import Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np

from ramet.reference.facts import PackType
from ramet.reference.tables import Reference
from ramet.science.packed import PackedBag, PackedBox, Surroundings
from ramet.services.planning.boxing import ReadyBox, Size
from ramet.services.planning.gather import Inputs
from ramet.services.planning.packed_bags import source_water
from ramet.services.trials.transit_inputs import cold_pack, heat_pack, packed_box, surroundings

_MELTS_NEAR_CORALS_C = 15.0
_FROZEN_C = -18.0


def horizon_h(inputs: Inputs, bags: int) -> float:
    """Return where the forecast ends: hours from departure, well past the longest need."""
    beyond = inputs.reference.parameter("horizon_beyond_need_h").band.typical
    return float(np.ceil(inputs.clock.needed_h(bags, 1, bags) + beyond))


def journey_air(inputs: Inputs) -> Surroundings:
    """Return the air around the boxes, from departure on."""
    return surroundings(
        inputs.shipment.leg,
        ZoneInfo(inputs.shipment.sender.zone),
        inputs.reference.parameter("forecast_error_c").band.typical,
        inputs.reference.parameter("receiving_room_c").band.typical,
        None if inputs.shipment.delay is None else inputs.shipment.delay.at_leg,
    )


def box_on_the_road(inputs: Inputs, box: ReadyBox, bags: Sequence[PackedBag]) -> PackedBox:
    """Return a box as the journey model sees it, with its packs in the vented lid."""
    packs = [pack.type for pack in box.packs]
    kind = box.type
    return boxed(
        inputs.reference, box.id, box.inner_mm, kind.wall_mm, kind.foam, packs, usual_c(inputs), bags
    )


def boxed(
    reference: Reference,
    id: str,
    inner_mm: Size,
    wall_mm: float,
    foam: str,
    packs: Sequence[PackType],
    room_c: float,
    bags: Sequence[PackedBag],
) -> PackedBox:
    """Return a box of these walls and packs; packs that melt near corals start at `room_c`, others frozen."""
    bare = packed_box(reference, id, inner_mm, wall_mm, reference.foams[foam], bags)
    return replace(
        bare,
        heat_packs=tuple(heat_pack(pack) for pack in packs if pack.warms),
        cold_packs=tuple(
            cold_pack(reference, pack, room_c if softens(pack) else _FROZEN_C)
            for pack in packs
            if not pack.warms
        ),
    )


def softens(pack: PackType) -> bool:
    """Tell whether a pack melts where corals live: packed liquid, it gives heat before it takes any."""
    return pack.melts_c is not None and pack.melts_c > _MELTS_NEAR_CORALS_C


def main_system(inputs: Inputs) -> str:
    """Return the system whose water stands for all where one must."""
    return inputs.stock.pieces[0].system if inputs.stock.pieces else ""


def usual_c(inputs: Inputs) -> float:
    """Return the temperature of the room where bags are sealed and packs are readied: that of the water."""
    return source_water(inputs, main_system(inputs)).temperature_c

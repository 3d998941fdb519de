"""What the receiving tank says: minerals, biofilter, light, opening, and cautions."""

from collections.abc import Sequence
from dataclasses import replace

from ramet.domain.piece import WaterRecord
from ramet.formats.plan import Caution
from ramet.formats.receiving import Tank
from ramet.formats.shipment import Goods
from ramet.formats.tank_report import FreeSpot, Placement, TankReport
from ramet.reference.tables import Reference
from ramet.services.receiving.ammonia_load import (
    ammonia_ug_d,
    biofilter_report,
    biofilter_room_ug_d,
    capacity_g_d,
    die_off_g_d,
    food_g_d,
)
from ramet.services.receiving.arriving import UNDATED, ArrivingBag, ArrivingPiece, Visit
from ramet.services.receiving.cautions import tank_cautions
from ramet.services.receiving.correcting import corrections
from ramet.services.receiving.demand import background_ueq_d, demand_table, demand_ueq_d
from ramet.services.receiving.frame import tank_frame
from ramet.services.receiving.lamp_setting import lamp_plan
from ramet.services.receiving.light_steps import light_steps
from ramet.services.receiving.opening import acclimation
from ramet.services.receiving.staging import staging
from ramet.services.receiving.supply import balance, supply_table, supply_ueq_d
from ramet.services.receiving.testing import testing_plan

__all__ = [
    "ArrivingBag",
    "ArrivingPiece",
    "Visit",
    "ammonia_ug_d",
    "background_ueq_d",
    "biofilter_room_ug_d",
    "capacity_g_d",
    "demand_ueq_d",
    "die_off_g_d",
    "food_g_d",
    "supply_ueq_d",
    "tank_report",
]


def tank_report(
    reference: Reference,
    tank: Tank,
    goods: Sequence[Goods],
    pieces: Sequence[ArrivingPiece],
    bags: Sequence[ArrivingBag] = (),
    *,
    sources: Sequence[WaterRecord] = (),
    placement: Sequence[Placement] = (),
    free: Sequence[FreeSpot] = (),
    visit: Visit = UNDATED,
) -> tuple[TankReport, tuple[Caution, ...]]:
    """Hold a set of corals against a receiving tank.

    `goods` are those that really go along, `sources` the newest water record of each source system,
    `placement` and `free` where the pieces go and what stays free (worked out elsewhere); a placed piece gets
    the light of its place. `visit` dates the answer.
    """
    pieces = _where_they_stand(pieces, placement)
    demand = demand_table(reference, tank, pieces)
    supply = supply_table(reference, tank, pieces)
    biofilter = biofilter_report(reference, tank, goods, pieces, visit.journey_h, visit.leaves)
    report = TankReport(
        volume_l=tank.volume_l,
        demand=demand,
        supply=supply,
        biofilter=biofilter,
        light=light_steps(reference, tank, pieces, free),
        placement=tuple(placement),
        acclimation=acclimation(reference, tank, bags, pieces, visit),
        frame=tank_frame(reference, tank),
        balance=balance(reference, tank, pieces),
        corrections=corrections(reference, tank, pieces),
        testing=testing_plan(reference, tank, demand, biofilter, visit.arrives),
        lamp=lamp_plan(reference, tank, pieces, visit.arrives),
        free_spots=tuple(free),
        staging=staging(reference, tank, goods, pieces, visit),
    )
    return report, tank_cautions(reference, tank, pieces, sources, demand, supply, biofilter, visit.arrives)


def _where_they_stand(pieces: Sequence[ArrivingPiece], placement: Sequence[Placement]) -> list[ArrivingPiece]:
    places = {one.piece: one for one in placement if one.at_mm is not None}
    return [
        replace(piece, zone=places[piece.piece].zone, spot_par=places[piece.piece].par)
        if piece.piece in places
        else piece
        for piece in pieces
    ]

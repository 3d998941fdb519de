"""The chosen set held against the receiving tank: minerals, biofilter, light, places, opening."""

from collections.abc import Sequence
from dataclasses import dataclass

from ramet.formats.plan import Caution, Forecast
from ramet.formats.tank_report import TankReport
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load
from ramet.services.planning.packed_bags import LEAST_WATER_L, source_water
from ramet.services.planning.tank_room import arriving
from ramet.services.receiving.placing import RANKS, Placing
from ramet.services.tank import ArrivingBag, Visit, tank_report


@dataclass(frozen=True, slots=True)
class Received:
    """What the tank says, with its cautions, and the pieces for which no place was found."""

    report: TankReport
    cautions: tuple[Caution, ...]
    unplaced: tuple[tuple[str, str], ...]


def receive(inputs: Inputs, loads: Sequence[Load], rows: Forecast, placing: Placing) -> Received:
    """Return the tank's report on the chosen set, with the places it got and the forecast of its bags."""
    corals = [(load, one) for load in loads for one in load.parcel.candidates]
    report, cautions = tank_report(
        inputs.reference,
        inputs.shipment.tank,
        [load.parcel.goods for load in loads if load.parcel.goods is not None],
        [arriving(one, load.id, RANKS[load.parcel.rank(inputs)]) for load, one in corals],
        _bags(loads, rows),
        sources=[source_water(inputs, system) for system in sorted({one.stock.system for _, one in corals})],
        placement=placing.placements,
        free=placing.free,
        visit=visit_of(inputs),
    )
    return Received(report, cautions, placing.unplaced)


def visit_of(inputs: Inputs) -> Visit:
    """Return when the boxes leave and arrive, and the hours from the lid to the first opened bag."""
    clock = inputs.clock
    return Visit(
        leaves=clock.departs.date(),
        arrives=clock.due.date(),
        journey_h=(clock.due - clock.departs).total_seconds() / 3600,
        per_bag_min=clock.per_bag_h * 60,
        early_min=(clock.due - clock.arrives).total_seconds() / 60,
    )


def _bags(loads: Sequence[Load], rows: Forecast) -> list[ArrivingBag]:
    by_id = {row.id: row for row in rows.bags}
    bags = []
    for load in loads:
        row = by_id[load.id]
        opened_h = load.needed_h - load.sealed_before_h
        at = min(range(len(rows.hours)), key=lambda k: abs(rows.hours[k] - opened_h))
        bags.append(
            ArrivingBag(
                id=load.id,
                water_l=max(load.way.water_l, LEAST_WATER_L),
                temperature_c=round(row.series.temperature_c.p50[at], 1),
                margin_h=row.margin_h,
                salinity=load.parcel.living.water.salinity,
                order=load.opening_order,
            )
        )
    return bags

"""What would change the margins of a plan: its packed boxes with one thing different, over the same draws.

`try_out` answers one question at the speed of a slider; `plan_what_ifs` is the table of the usual ones.
Both need nothing but the plan.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from ramet.domain.words import Gas
from ramet.formats.plan import Forecast, Leg, Plan
from ramet.formats.transit_result import WhatIfRow
from ramet.reference.tables import Reference
from ramet.science.journey import forecast
from ramet.science.scenarios import Scenarios, draw
from ramet.services.planning.adjustment import (
    Adjustment,
    Room,
    adjusted,
    adjustment_problems,
    living_bags,
    room_for,
)
from ramet.services.planning.forecast_rows import BagFacts, forecast_of
from ramet.services.planning.planned_journey import Boxes, PlannedJourney, planned_journey
from ramet.services.trials.transit_inputs import lateness, transit_parameters
from ramet.services.trials.what_if import AS_WRITTEN, against_first, what_if_row

_ENRICHED = 0.5
AS_PLANNED = Adjustment()


@dataclass(frozen=True, slots=True)
class PlanChange:
    """One thing done differently, with its code and words."""

    code: str
    words: str
    wish: Adjustment


def try_out(
    reference: Reference, plan: Plan, wish: Adjustment = AS_PLANNED, draws: int = 64
) -> Forecast | None:
    """Return the forecast of a plan whose boxes are packed or sent differently.

    Parameters
    ----------
    reference
        The tables in force; those the plan was made with where the answers shall agree.
    plan
        As written; one that does not tell its journey gives None.
    wish
        What is done differently.
    draws
        Scenarios, a power of two. 64 answer within a fraction of a second, p05 to some 5 %. With as many as
        the plan's forecast has, a wish left alone gives the plan's own forecast.

    Returns
    -------
    Holds, margins (also a day late), first limits, chances and series as in the plan, with the same ids;
    where boxes wait, the needs grow by the wait, and the leg at which they do.

    Raises
    ------
    BadInput
        With all of the wish that cannot be done; `room_to_adjust` tells the bounds beforehand.
    """
    planned = planned_journey(plan, reference)
    if planned is None:
        return None
    boxes = adjusted(reference, planned, wish)
    return forecast_boxes(reference, planned, boxes, draws, wish.leaves_h, wish.waits_h)


def forecast_boxes(
    reference: Reference,
    planned: PlannedJourney,
    boxes: Boxes,
    draws: int,
    leaves_h: float = 0.0,
    waits_h: float = 0.0,
) -> Forecast:
    """Return the forecast of a plan's bags packed into other boxes, leaving later or waiting on the way."""
    plan = planned.plan
    journey = forecast(
        boxes,
        planned.air(reference, leaves_h, waits_h),
        transit_parameters(reference),
        _draws(reference, planned, draws),
        plan.horizon_h + waits_h,
    )
    bags = [BagFacts(one.id, one.needed_h + waits_h, one.limits) for one in plan.forecast.bags]
    names = [box.id for box in boxes]
    legs = _legs(planned, waits_h)
    return forecast_of(journey, names, bags, legs, plan.forecast.late_h, plan.horizon_h + waits_h)


def room_to_adjust(reference: Reference, plan: Plan, bags: frozenset[str] | None = None) -> Room | None:
    """Return the bounds of what `try_out` takes for a plan, or for some of its bags."""
    planned = planned_journey(plan, reference)
    return None if planned is None else room_for(reference, planned, bags)


def plan_what_ifs(reference: Reference, plan: Plan, draws: int = 128) -> tuple[WhatIfRow, ...]:
    """Return a row for each bag of a plan under each change that makes sense for it, as planned first.

    The set, the bags and their places stay as planned; each bag keeps its own time needed. Where the water of
    a bag changes, its surface is taken as it was.
    """
    planned = planned_journey(plan, reference)
    if planned is None:
        return ()
    rows: list[WhatIfRow] = []
    by_air: dict[tuple[float, float], list[PlanChange]] = {}
    for change in _changes(reference, planned):
        by_air.setdefault((change.wish.leaves_h, change.wish.waits_h), []).append(change)
    for alike in by_air.values():
        rows += _rows(reference, planned, alike, draws)
    return against_first(rows)


def _changes(reference: Reference, planned: PlannedJourney) -> Iterator[PlanChange]:
    """Yield the usual changes, without those that this plan has no room for or that would do nothing."""
    yield PlanChange(AS_WRITTEN, "as planned", AS_PLANNED)
    for change in _fillings(reference, planned):
        if not adjustment_problems(reference, planned, change.wish):
            yield change
    if planned.told.heat_packs != "no":
        yield PlanChange("more_heat", "one more heat pack in each box", Adjustment(heat_packs=1))
    if any(box.heat_packs for box in planned.boxes):
        yield PlanChange("less_heat", "one heat pack fewer in each box", Adjustment(heat_packs=-1))
    shift = reference.parameter("what_if_shift_h").band.typical
    yield PlanChange("earlier", f"leave {shift:g} h earlier, all legs with it", Adjustment(leaves_h=-shift))
    yield PlanChange("later", f"leave {shift:g} h later, all legs with it", Adjustment(leaves_h=shift))
    noon = _to_noon(planned)
    if abs(noon) > 0.5 and abs(abs(noon) - shift) > 0.5:
        side = "later" if noon > 0 else "earlier"
        yield PlanChange("noon", f"leave at noon ({abs(noon):.3g} h {side})", Adjustment(leaves_h=noon))
    wait = reference.parameter("what_if_depot_h").band.typical
    yield PlanChange("depot", f"held at the depot for {wait:g} h more", Adjustment(waits_h=wait))


def _fillings(reference: Reference, planned: PlannedJourney) -> Iterator[PlanChange]:
    share = reference.parameter("what_if_water_change").band.typical
    less, more = Adjustment(water_factor=1 - share), Adjustment(water_factor=1 + share)
    yield PlanChange("less_water", f"{100 * share:.0f} % less water, gas in its place", less)
    yield PlanChange("more_water", f"{100 * share:.0f} % more water, less gas", more)
    living = living_bags(planned.boxes)
    if any(bag.oxygen_fraction < _ENRICHED for bag in living):
        yield PlanChange("oxygen", "oxygen for air", Adjustment(gas=Gas.OXYGEN))
    if any(bag.oxygen_fraction >= _ENRICHED for bag in living):
        yield PlanChange("air", "air for oxygen", Adjustment(gas=Gas.AIR))
    if any(bag.layers == 1 and not bag.rigid for bag in living):
        yield PlanChange("double_bag", "a second bag around each", Adjustment(layers=2))


def _to_noon(planned: PlannedJourney) -> float:
    """Return how much later, or earlier where below 0, the nearest noon at the sender's is than the start."""
    leaves = planned.told.legs[0].start.astimezone(ZoneInfo(planned.plan.shipment.sender_zone))
    clock = leaves.hour + leaves.minute / 60
    return (12.0 - clock + 12.0) % 24.0 - 12.0


def _rows(
    reference: Reference, planned: PlannedJourney, alike: Sequence[PlanChange], draws: int
) -> Iterator[WhatIfRow]:
    """Yield the rows of changes that travel through the same air, forecast side by side."""
    wish = alike[0].wish
    looked = planned.plan.horizon_h + wish.waits_h
    packed = [adjusted(reference, planned, one.wish) for one in alike]
    journey = forecast(
        [box for boxes in packed for box in boxes],
        planned.air(reference, wish.leaves_h, wish.waits_h),
        transit_parameters(reference),
        _draws(reference, planned, draws),
        looked,
    )
    place = 0
    for change, boxes in zip(alike, packed, strict=True):
        for bag in (bag for box in boxes for bag in box.bags):
            words = (change.code, change.words, "")
            needed = planned.needed_h[bag.id] + wish.waits_h
            yield what_if_row(journey, place, words, needed, looked + bag.sealed_before_h)
            place += 1


def _draws(reference: Reference, planned: PlannedJourney, count: int) -> Scenarios:
    return draw(transit_parameters(reference), lateness(planned.told.delay), count, planned.plan.seed)


def _legs(planned: PlannedJourney, waits_h: float) -> tuple[Leg, ...]:
    """Return the legs of the plan, the one at which boxes wait longer by the wait."""
    found, later = [], 0.0
    for leg in planned.plan.forecast.legs:
        start = leg.start_h + later
        later += waits_h if leg.name == planned.told.delay.at_leg else 0.0
        found.append(leg.model_copy(update={"start_h": start, "end_h": leg.end_h + later}))
    return tuple(found)

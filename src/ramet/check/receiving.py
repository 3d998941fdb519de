"""What the plan says about the receiving tank agrees with itself."""

from collections.abc import Iterator
from itertools import combinations, pairwise

from ramet.check.finding import Fault
from ramet.formats.plan import Plan
from ramet.formats.tank_report import BandValue
from ramet.reference.tables import Reference

CALCIUM_MG_PER_DKH_L = 0.35665 / 2 * 40.078
"""1 dKH is 0.35665 meq/L; 1 mol CaCO3 takes 2 eq of alkalinity and 1 mol (40.078 g) of calcium."""
RATIO_SLACK = 0.05
SHOWN_DIGITS = 2e-3
"""Numbers of the demand are shown to four digits, and the molar masses behind them differ in the fourth."""


def bands_are_in_order(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every band has low <= typical <= high, and nothing in it is negative."""
    for where, band in _bands(plan):
        if not 0 <= band.low <= band.typical <= band.high:
            yield Fault(where, f"{band.low:g}, {band.typical:g}, {band.high:g} {band.unit} are out of order")


def demand_is_of_one_mineral(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Calcium goes with alkalinity as calcium carbonate; what goes besides is the same every day."""
    besides = {
        demand.day: demand.alkalinity.typical - demand.calcium.typical / CALCIUM_MG_PER_DKH_L
        for demand in plan.tank.demand
    }
    slack = {demand.day: SHOWN_DIGITS * demand.alkalinity.typical + 1e-4 for demand in plan.tank.demand}
    for day, rest in besides.items():
        if rest < -slack[day]:
            yield Fault(f"demand on day {day}", "takes more calcium than its alkalinity can bind")
        elif abs(rest - besides[plan.tank.demand[0].day]) > slack[day] + slack[plan.tank.demand[0].day]:
            yield Fault(f"demand on day {day}", f"takes {rest:.3g} dKH without calcium, another day differs")


def demand_days_rise(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The days of the demand rise from the day of arrival."""
    days = [demand.day for demand in plan.tank.demand]
    if any(after <= before for before, after in pairwise(days)) or (days and days[0] < 0):
        yield Fault("tank.demand", f"is given for the days {days}")


def supply_that_is_outgrown_says_so(plan: Plan, _: Reference) -> Iterator[Fault]:
    """When the last demand exceeds all supply together, some means says on which day it is outgrown."""
    if not plan.tank.demand or not plan.tank.supply:
        return
    last = plan.tank.demand[-1]
    supply = sum(one.alkalinity_dkh_d for one in plan.tank.supply)
    says = any(one.outgrown_on_day is not None for one in plan.tank.supply)
    if last.alkalinity.typical > supply * (1 + RATIO_SLACK) and not says:
        yield Fault(
            "tank.supply",
            f"gives {supply:g} dKH a day, day {last.day} takes {last.alkalinity.typical:g}, nothing says so",
        )


def biofilter_verdict_follows(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The biofilter is called enough only when it takes up the ammonia that typically comes in."""
    filter_ = plan.tank.biofilter
    if filter_.enough and filter_.capacity.typical < filter_.ammonia_in.typical:
        yield Fault(
            "tank.biofilter",
            f"takes {filter_.capacity.typical:g}, {filter_.ammonia_in.typical:g} come in, yet it is enough",
        )


def tank_lists_name_what_is_sent(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Light, places and opening steps are given once for exactly the pieces and bags that are sent."""
    pieces = sorted(one.piece for one in plan.chosen)
    corals = sorted(bag.id for bag in plan.bags if bag.pieces)
    for where, have, want in (
        ("tank.light", sorted(one.piece for one in plan.tank.light), pieces),
        ("tank.placement", sorted(one.piece for one in plan.tank.placement), pieces),
    ):
        if have != want:
            odd = sorted(set(have) ^ set(want)) or ["one twice"]
            yield Fault(where, f"does not match the pieces sent: {', '.join(odd)}")
    opened = [one.bag for one in plan.tank.acclimation]
    if len(set(opened)) != len(opened) or not set(corals) <= set(opened):
        yield Fault("tank.acclimation", "does not open every bag of corals once")


def light_starts_gently(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No piece starts above its target, nor above the light it comes from."""
    for step in plan.tank.light:
        most = step.target_par if step.source_par is None else max(step.target_par, step.source_par)
        if step.start_par > most + 0.5:
            yield Fault(
                step.piece, f"starts at {step.start_par:g} µmol/m²/s, its target is {step.target_par:g}"
            )
        if step.days < 0:
            yield Fault(step.piece, f"takes {step.days} days")


def places_are_taken_once(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No two pieces stand on one spot, and places are glued in an order without a repeat."""
    placed = [one for one in plan.tank.placement if one.at_mm is not None]
    for one, other in combinations(placed, 2):
        if one.at_mm == other.at_mm:
            yield Fault(one.piece, f"stands on the spot of {other.piece}")
    orders = [one.order for one in placed]
    if len(set(orders)) != len(orders):
        yield Fault("tank.placement", "gives two pieces one place in the order")


def _bands(plan: Plan) -> Iterator[tuple[str, BandValue]]:
    for demand in plan.tank.demand:
        for name in ("alkalinity", "calcium", "magnesium"):
            yield f"demand of {name} on day {demand.day}", getattr(demand, name)
    yield "tank.biofilter.ammonia_in", plan.tank.biofilter.ammonia_in
    yield "tank.biofilter.capacity", plan.tank.biofilter.capacity

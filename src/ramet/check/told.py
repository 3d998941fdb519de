"""What a plan keeps of its forecast, and the habit beside it, are those of this plan."""

from collections.abc import Iterator
from itertools import pairwise

from ramet.check.finding import Fault
from ramet.formats.plan import Plan
from ramet.reference.tables import Reference

ROUNDING_H = 0.021
"""Hours in a plan are rounded to hundredths; a difference of two carries two roundings."""


def told_journey_is_of_this_plan(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The journey that is kept names the plan's bags, boxes and legs, sealed in the plan's order."""
    told = plan.journey
    if told is None:
        return
    for what, have, want in (
        ("bags", [bag.id for bag in told.bags], [bag.id for bag in plan.bags]),
        ("boxes", [box.id for box in told.boxes], [box.id for box in plan.boxes]),
        ("legs", [leg.name for leg in told.legs], [leg.name for leg in plan.forecast.legs]),
    ):
        if sorted(have) != sorted(want):
            odd = sorted(set(have) ^ set(want)) or ["one twice"]
            yield Fault(f"journey.{what}", f"does not match the plan's {what}: {', '.join(odd)}")
    order = {bag.id: bag.sealing_order for bag in plan.bags}
    known = sorted((bag for bag in told.bags if bag.id in order), key=lambda bag: order[bag.id])
    for earlier, later in pairwise(known):
        if later.sealed_before_h > earlier.sealed_before_h:
            yield Fault(later.id, f"is sealed after {earlier.id}, yet longer before departure")


def habit_is_held_against_this_plan(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The habit beside a plan has its bags, their needs, and counts the bags that hold."""
    usual = plan.usual
    if usual is None:
        return
    needs = {bag.id: bag.needed_h for bag in plan.forecast.bags}
    if sorted(bag.id for bag in usual.bags) != sorted(needs):
        yield Fault("usual.bags", "are not the bags of the forecast")
    for bag in usual.bags:
        if bag.id in needs and abs(bag.hold_p05_h - needs[bag.id] - bag.margin_h) > ROUNDING_H:
            left = bag.hold_p05_h - needs[bag.id]
            yield Fault(bag.id, f"a usual margin of {bag.margin_h:g} h where {left:.2f} h are left")
    for name, shown, margins in (
        ("holding", usual.holding, [bag.margin_h for bag in usual.bags]),
        ("planned_holding", usual.planned_holding, [bag.margin_h for bag in plan.forecast.bags]),
    ):
        count = sum(margin >= 0 for margin in margins)
        if shown != count:
            yield Fault(f"usual.{name}", f"counts {shown} bags that hold, {count} do")

"""The forecast's own arithmetic: margins, percentiles, series and horizon agree."""

from collections.abc import Iterator
from itertools import pairwise, permutations
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ramet.check.finding import Fault
from ramet.formats.plan import Bands, Plan
from ramet.reference.tables import Reference

ROUNDING_H = 0.021
"""Hours in a plan are rounded to hundredths; a difference of two carries two roundings."""
POSSIBLE = {
    "ambient_c": (-60.0, 70.0),
    "temperature": (-60.0, 70.0),
    "temperature_c": (-3.0, 60.0),
    "oxygen_mg_l": (0.0, 60.0),
    "ph_total": (4.0, 10.0),
    "unionised_ammonia_umol_l": (0.0, 10_000.0),
}
"""Wide bounds that catch a wrong sign or unit; seawater freezes near -2 °C."""
CHANCE_SLACK = 0.05
"""The chance counts delayed journeys too, which may hold a little longer or shorter than those on time."""
LEVELS = ((0.95, "p05"), (0.5, "p50"), (0.05, "p95"))
"""A percentile lies beyond the horizon when more than this share of the scenarios does."""


def margins_add_up(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The margin is the 5th percentile of the hold time less the time needed, on time and a day late."""
    for bag in plan.forecast.bags:
        margin = bag.hold_h.p05 - bag.needed_h
        if abs(bag.margin_h - margin) > ROUNDING_H:
            yield Fault(bag.id, f"a margin of {bag.margin_h:g} h where {margin:.2f} h are left")
        held_late = bag.hold_h.p05 if bag.hold_late_p05_h is None else bag.hold_late_p05_h
        late = held_late - bag.needed_h - plan.forecast.late_h
        if abs(bag.margin_late_h - late) > ROUNDING_H:
            yield Fault(
                bag.id, f"a margin of {bag.margin_late_h:g} h one day late where {late:.2f} h are left"
            )


def need_covers_the_journey(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The time needed is at least the time from departure to the due time, for every bag."""
    journey_h = (plan.shipment.due - plan.shipment.departs).total_seconds() / 3600
    for bag in plan.forecast.bags:
        if bag.needed_h < journey_h - ROUNDING_H:
            yield Fault(bag.id, f"needs {bag.needed_h:g} h, departure to due time takes {journey_h:g} h")


def need_follows_the_orders(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A bag sealed no later and opened no sooner than another needs at least as long."""
    needs = {bag.id: bag.needed_h for bag in plan.forecast.bags}
    bags = [bag for bag in plan.bags if bag.id in needs]
    for one, other in permutations(bags, 2):
        longer = one.sealing_order < other.sealing_order and one.opening_order > other.opening_order
        if longer and needs[one.id] < needs[other.id] - ROUNDING_H:
            yield Fault(
                one.id,
                f"needs {needs[one.id]:g} h, {other.id} needs {needs[other.id]:g} h"
                " though sealed later and opened sooner",
            )


def hold_percentiles_are_in_order(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Hold times rise from the 5th to the 95th percentile, start at 0 and end at the horizon."""
    for bag in plan.forecast.bags:
        hold = bag.hold_h
        if not 0 <= hold.p05 <= hold.p50 <= hold.p95 <= plan.horizon_h + ROUNDING_H:
            yield Fault(bag.id, f"hold times {hold.p05:g}, {hold.p50:g}, {hold.p95:g} h are out of order")
        for name, value in (("censored_share", hold.censored_share), ("chance_ok", bag.chance_ok)):
            if not 0 <= value <= 1:
                yield Fault(bag.id, f"{name} is {value:g}, not a share")


def censored_shares_agree(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A percentile equals the horizon exactly when so many scenarios outlast it."""
    slack = 1.0 / max(plan.forecast.scenarios, 1) + 1e-6
    for bag in plan.forecast.bags:
        for level, name in LEVELS:
            value = getattr(bag.hold_h, name)
            at_end = value >= plan.horizon_h - ROUNDING_H
            if at_end and bag.hold_h.censored_share < level - slack:
                yield Fault(
                    bag.id, f"{name} is the horizon, yet only {bag.hold_h.censored_share:.0%} reach it"
                )
            if not at_end and bag.hold_h.censored_share > level + slack:
                yield Fault(
                    bag.id, f"{name} is {value:g} h, yet {bag.hold_h.censored_share:.0%} outlast it all"
                )


def horizon_is_far_enough(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """The forecast runs at least 48 h past the longest need."""
    needs = [bag.needed_h for bag in plan.forecast.bags]
    beyond = reference.parameter("horizon_beyond_need_h").band.low
    if needs and plan.horizon_h < max(needs) + beyond - ROUNDING_H:
        yield Fault("horizon_h", f"ends at {plan.horizon_h:g} h, the longest need is {max(needs):g} h")


def series_fit_the_hours(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every series has one value an hour mark, hours rise, and bands never cross."""
    hours = plan.forecast.hours
    if any(after <= before for before, after in pairwise(hours)) or (hours and hours[0] != 0):
        yield Fault("forecast.hours", "do not rise from 0, the departure")
    for where, bands in _all_bands(plan):
        lengths = {len(bands.p05), len(bands.p50), len(bands.p95)}
        if lengths != {len(hours)}:
            yield Fault(where, f"has {sorted(lengths)} values for {len(hours)} hours")
        elif any(
            not low <= mid <= high for low, mid, high in zip(bands.p05, bands.p50, bands.p95, strict=True)
        ):
            yield Fault(where, "its percentiles cross")


def series_are_possible(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No temperature, oxygen, pH or ammonia in the forecast lies outside what water and air can have."""
    for where, bands in _all_bands(plan):
        low, high = next(
            (span for name, span in POSSIBLE.items() if where.endswith(name)), POSSIBLE["ambient_c"]
        )
        values = (*bands.p05, *bands.p50, *bands.p95)
        if values and (min(values) < low or max(values) > high):
            yield Fault(
                where, f"runs from {min(values):g} to {max(values):g}, possible is {low:g} to {high:g}"
            )


def chances_follow_the_margins(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The chance that a bag arrives well agrees with the percentiles of its hold time."""
    for bag in plan.forecast.bags:
        if min(bag.margin_h, bag.margin_late_h) >= 0 and bag.chance_ok < 0.95 - CHANCE_SLACK:
            yield Fault(bag.id, f"holds even a day late, yet its chance is {bag.chance_ok:.0%}")
        if bag.hold_h.p50 < bag.needed_h and bag.chance_ok > 0.5 + 3 * CHANCE_SLACK:
            yield Fault(bag.id, f"mostly holds too short, yet its chance is {bag.chance_ok:.0%}")


def legs_join(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Legs follow each other without a gap, from the departure to the arrival or beyond."""
    legs = plan.forecast.legs
    for before, after in pairwise(legs):
        if abs(after.start_h - before.end_h) > ROUNDING_H:
            yield Fault(
                after.name, f"starts at {after.start_h:g} h, {before.name} ends at {before.end_h:g} h"
            )
    journey_h = (plan.shipment.arrives - plan.shipment.departs).total_seconds() / 3600
    if legs and (abs(legs[0].start_h) > ROUNDING_H or legs[-1].end_h < journey_h - ROUNDING_H):
        yield Fault("forecast.legs", f"do not cover the {journey_h:g} h from departure to arrival")


def times_are_in_order(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Sealing, departure, arrival and due time follow each other, none before today, in zones that exist."""
    head = plan.shipment
    moments = (
        ("sealed_from", head.sealed_from),
        ("departs", head.departs),
        ("arrives", head.arrives),
        ("due", head.due),
    )
    for (name, before), (next_name, after) in pairwise(moments):
        if after < before:
            yield Fault(f"shipment.{next_name}", f"{after.isoformat()} is before {name}")
    for name, zone in (("sender_zone", head.sender_zone), ("receiver_zone", head.receiver_zone)):
        try:
            ZoneInfo(zone)
        except (ZoneInfoNotFoundError, ValueError):
            yield Fault(f"shipment.{name}", f"“{zone}” is no time zone")
    if head.departs.date() < plan.made_from.today:
        yield Fault("shipment.departs", f"is before today, {plan.made_from.today.isoformat()}")


def _all_bands(plan: Plan) -> Iterator[tuple[str, Bands]]:
    yield "forecast.ambient_c", plan.forecast.ambient_c
    for box in plan.forecast.boxes:
        yield f"{box.id} temperature", box.temperature
    for bag in plan.forecast.bags:
        for name in ("temperature_c", "oxygen_mg_l", "ph_total", "unionised_ammonia_umol_l"):
            yield f"{bag.id} {name}", getattr(bag.series, name)

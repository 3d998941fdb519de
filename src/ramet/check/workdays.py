"""The calendar: order, healing, rest after dips, and everything done before the boxes leave."""

import math
from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ramet.check.finding import Fault
from ramet.domain.words import How, Status
from ramet.formats.plan import Plan, Task
from ramet.reference.tables import Reference

ROUNDING = timedelta(minutes=1)


def tasks_end_after_they_start(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No task ends before it starts, and hands are needed no longer than it lasts."""
    for task in plan.tasks:
        lasts_min = (task.ends - task.starts).total_seconds() / 60
        if lasts_min < 0:
            yield Fault(task.id, "ends before it starts")
        elif task.bench_min > lasts_min + 1:
            yield Fault(task.id, f"takes {task.bench_min} min of work in {lasts_min:.0f} min")


def tasks_wait_for_each_other(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every task starts after the tasks it names have ended, and its gap has passed."""
    known = {task.id: task for task in plan.tasks}
    for task in plan.tasks:
        for name in task.after:
            if name not in known:
                yield Fault(task.id, f"waits for {name}, which does not exist")
            elif task.starts + ROUNDING < known[name].ends + timedelta(hours=task.gap_h):
                yield Fault(task.id, f"starts less than {task.gap_h:g} h after {name} ends")


def tasks_have_no_circle(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No task waits for itself, not even by way of others."""
    waits = {task.id: set(task.after) for task in plan.tasks}
    while True:
        free = {name for name, after in waits.items() if not after & waits.keys()}
        if not free:
            break
        waits = {name: after for name, after in waits.items() if name not in free}
    if waits:
        yield Fault("tasks", f"wait for each other in a circle: {', '.join(sorted(waits))}")


def no_task_lies_in_the_past(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No task starts before the day on which the plan was made."""
    for task in plan.tasks:
        if task.starts.date() < plan.made_from.today:
            yield Fault(task.id, f"starts on {task.starts.date()}, the plan is of {plan.made_from.today}")


def ready_plans_start_in_time(plan: Plan, _: Reference) -> Iterator[Fault]:
    """In a plan that is ready, no task starts later than its latest start."""
    for task in plan.tasks:
        if plan.status == Status.READY and task.starts > task.latest_start + ROUNDING:
            yield Fault(task.id, f"starts after its latest start, {task.latest_start.isoformat()}")


def cuts_heal_before_packing(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Every piece to be cut is cut early enough: the planning days of its kind, and 48 h at the least."""
    sealed = plan.shipment.sealed_from
    floor = timedelta(hours=reference.parameter("rest_after_cut_h").band.typical)
    cuts = _tasks_by_piece(plan, "cut")
    for one in plan.chosen:
        if one.how != How.CUT:
            continue
        if one.piece not in cuts:
            yield Fault(one.piece, "is to be cut, but no task cuts it")
            continue
        ended = cuts[one.piece].ends
        days = math.ceil(reference.trait(one.taxon, one.form, "healing_d").band.typical)
        rest_d = (_sender_day(plan, sealed) - _sender_day(plan, ended)).days
        if rest_d < days or sealed - ended < floor:
            yield Fault(one.piece, f"is cut {rest_d} days before packing, its kind takes {days} days to heal")


def pieces_are_ready_when_packed(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No piece is packed before the day on which it is ready."""
    packed_on = _sender_day(plan, plan.shipment.sealed_from)
    for one in plan.chosen:
        if one.ready_on > packed_on:
            yield Fault(one.piece, f"is ready on {one.ready_on}, packed on {packed_on}")


def dips_leave_time_to_rest(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """No dip falls in the last two days before packing."""
    least = timedelta(days=reference.parameter("dip_rest").band.low)
    for task in plan.tasks:
        rest = plan.shipment.sealed_from - task.ends
        if task.kind == "dip" and rest < least - ROUNDING:
            yield Fault(task.id, f"ends {rest.total_seconds() / 3600:.0f} h before packing")


def everything_sent_is_packed(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Packing starts when the first bag is sealed, takes in every piece sent, and ends before departure."""
    if not plan.bags:
        return
    packing = [task for task in plan.tasks if task.kind == "pack"]
    if not packing:
        yield Fault("tasks", "nothing is packed")
        return
    missing = {one.piece for one in plan.chosen} - {piece for task in packing for piece in task.pieces}
    if missing:
        yield Fault("tasks", f"no task packs {', '.join(sorted(missing))}")
    if abs(min(task.starts for task in packing) - plan.shipment.sealed_from) > ROUNDING:
        yield Fault("tasks", "packing does not start when the first bag is sealed")
    for task in packing:
        if task.ends > plan.shipment.departs + ROUNDING:
            yield Fault(task.id, "ends after the boxes leave")


def boxes_are_handed_over_at_departure(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The boxes are handed over once, after all packing, on the day and by the time of departure."""
    if not plan.bags:
        return
    found = [task for task in plan.tasks if task.kind == "handover"]
    if len(found) != 1:
        yield Fault("tasks", f"the boxes are handed over {len(found)} times")
        return
    handover = found[0]
    if handover.starts > plan.shipment.departs + ROUNDING:
        yield Fault(handover.id, "starts after the departure")
    if _sender_day(plan, handover.starts) != _sender_day(plan, plan.shipment.departs):
        yield Fault(handover.id, "is not on the day of departure")
    for task in plan.tasks:
        if task.kind == "pack" and task.ends > handover.starts + ROUNDING:
            yield Fault(task.id, "ends after the handover starts")


def _tasks_by_piece(plan: Plan, kind: str) -> Mapping[str, Task]:
    """Return the last task of a kind for each piece."""
    ordered = sorted((task for task in plan.tasks if task.kind == kind), key=lambda task: task.ends)
    return {piece: task for task in ordered for piece in task.pieces}


def _sender_day(plan: Plan, moment: datetime) -> date:
    try:
        return moment.astimezone(ZoneInfo(plan.shipment.sender_zone)).date()
    except (ZoneInfoNotFoundError, ValueError):
        return moment.date()

"""What the cover says: the verdict, who to whom and when, the numbers that matter, what stays behind."""

from typing import TYPE_CHECKING, Any

from ramet.formats.plan import Plan
from ramet.papers import words
from ramet.papers.facts_of import by_margin, cautions_in_order, is_safety
from ramet.papers.marks import standalone, verdict_mark
from ramet.papers.notes import LINES_ON_COVER, lines_in_order, reason_rows

if TYPE_CHECKING:
    from datetime import datetime

Context = dict[str, Any]
SAFETY_ON_COVER = 6
"""So many safety cautions, the gravest, stand on the cover; the notes have them all."""


def cover_context(plan: Plan) -> Context:
    """Return the texts of the cover."""
    head = plan.shipment
    word = words.VERDICT[plan.status]
    safety = [caution.text for caution in cautions_in_order(plan) if is_safety(caution)]
    return {
        "shipment": head.name,
        "mark": standalone(verdict_mark(plan.status), word),
        "word": word,
        "verdict": plan.verdict + (f" {words.CUT_SHORT}" if plan.optimum.stopped_early else ""),
        "sender": head.sender,
        "sender_place": head.sender_place,
        "receiver": head.receiver,
        "receiver_place": head.receiver_place,
        "stations": _stations(plan),
        "numbers": _numbers(plan) if plan.bags else [],
        "thinnest": _thinnest(plan),
        "remarks": _remarks(plan),
        "left_out": _left_out(plan),
        "safety": safety[:SAFETY_ON_COVER],
        "more_safety": max(len(safety) - SAFETY_ON_COVER, 0),
    }


def _stations(plan: Plan) -> list[Context]:
    head = plan.shipment
    stops = (
        ("first bag sealed", head.sealed_from, head.sender_zone),
        ("leaves", head.departs, head.sender_zone),
        ("arrives", head.arrives, head.receiver_zone),
        ("due", head.due, head.receiver_zone),
    )
    before: datetime | None = None
    listed: list[Context] = []
    for what, when, zone in stops:
        gap = "" if before is None else words.hours((when - before).total_seconds() / 3600)
        local = words.moment(when, zone)
        listed.append(
            {
                "what": what,
                "day": local.rsplit(" ", 1)[0],
                "time": words.clock(when, zone),
                "zone": words.zone_name(when, zone),
                "gap": gap,
            }
        )
        before = when
    return listed


def _numbers(plan: Plan) -> list[Context]:
    boxes = [box for box in plan.boxes if box.bags]
    billed = sum(box.billed_kg for box in boxes)
    weight = sum(box.mass_kg for box in boxes)
    return [
        {"value": str(len(plan.chosen)), "unit": "", "label": "pieces go"},
        {"value": str(len(plan.bags)), "unit": "", "label": "bags"},
        {"value": str(len(boxes)), "unit": "", "label": "box" if len(boxes) == 1 else "boxes"},
        {"value": words.number(weight), "unit": "kg", "label": f"billed {words.kilograms(billed)}"},
    ]


def _thinnest(plan: Plan) -> Context | None:
    if not plan.forecast.bags:
        return None
    bag = by_margin(plan)[0]
    late_h = plan.forecast.late_h
    latest = min(plan.forecast.bags, key=lambda one: (one.margin_late_h, one.id))
    return {
        "bag": bag.id,
        "margin": words.margin(bag.margin_h, bag.hold_h, plan.horizon_h),
        "holds": words.held_band(bag.hold_h, plan.horizon_h),
        "needed": words.hours(bag.needed_h),
        "first_limit": words.plain(bag.first_limit),
        "hangs_on": words.plain(bag.hangs_on),
        "late_words": f"{words.number(late_h, 0)} h late",
        "late_bag": latest.id,
        "margin_late": words.late_margin(latest, plan.horizon_h),
        "short_when_late": sum(one.margin_late_h < 0 for one in plan.forecast.bags),
        "bags": len(plan.forecast.bags),
    }


def _remarks(plan: Plan) -> list[str]:
    """Return what must not be missed: changes at the bench, rules switched off, what it costs."""
    off = [rule.words for rule in plan.rules if not rule.on]
    remarks = [f"Changed at the bench: {' '.join(change.words)}" for change in plan.changes]
    remarks += [f"Rules that the sender switched off: {' '.join(off)}"] if off else []
    return remarks + words.costs(plan)


def _left_out(plan: Plan) -> Context:
    """Return the first reason for each of the first lines, musts first, and how many lines are not shown."""
    lines = lines_in_order(plan)
    rows = [{**reason_rows(left)[0], "last": True} for left in lines[:LINES_ON_COVER]]
    return {"rows": rows, "more": max(len(lines) - LINES_ON_COVER, 0)}

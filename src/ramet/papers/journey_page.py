"""The sheet on the journey: charts, and every bag with its hold time, margins and what breaks first."""

from typing import Any

from ramet.formats.plan import BagForecast, Plan
from ramet.papers import words
from ramet.papers.facts_of import by_margin
from ramet.papers.journey import boxes_chart, thinnest_chart
from ramet.papers.lay_out import legs

Context = dict[str, Any]
COLUMNS = 3
MOST_USUAL = 8


def journey_context(plan: Plan) -> Context | None:
    """Return the charts and the table of margins; nothing when no bag travels."""
    if not plan.forecast.bags or not plan.forecast.hours:
        return None
    thinnest = by_margin(plan)
    return {
        "scenarios": str(plan.forecast.scenarios),
        "late": f"{words.number(plan.forecast.late_h, 0)} h late",
        "horizon": words.hours(plan.horizon_h),
        "horizon_h": plan.horizon_h,
        "legs": legs(plan),
        "boxes": boxes_chart(plan),
        "bags": thinnest_chart(plan, thinnest[:COLUMNS]),
        "bags_share": min(len(thinnest), COLUMNS) / COLUMNS,
        "rows": [_row(plan, bag) for bag in thinnest],
        "usual": _usual(plan),
    }


def _usual(plan: Plan) -> Context | None:
    """Return the grower's own habit beside the plan, the bags it serves worst first."""
    usual = plan.usual
    if usual is None or not usual.bags:
        return None
    planned = {bag.id: bag for bag in plan.forecast.bags}
    worst = sorted(usual.bags, key=lambda bag: (bag.margin_h, bag.id))[:MOST_USUAL]
    return {
        "name": usual.name,
        "words": usual.words,
        "holding": f"{usual.holding} of {len(usual.bags)}",
        "planned_holding": f"{usual.planned_holding} of {len(usual.bags)}",
        "water": words.litres(usual.water_l),
        "planned_water": words.litres(usual.planned_water_l),
        "rows": [
            {
                "id": bag.id,
                "planned": words.margin(planned[bag.id].margin_h, planned[bag.id].hold_h, plan.horizon_h),
                "usual": words.signed_hours(bag.margin_h),
                "short": bag.margin_h < 0,
                "oxygen": f"{words.number(bag.least_oxygen_mg_l)} mg/L",
                "range": f"{words.number(bag.coldest_c)} to {words.number(bag.warmest_c)} °C",
                "first_limit": words.plain(bag.first_limit),
            }
            for bag in worst
        ],
    }


def _row(plan: Plan, bag: BagForecast) -> Context:
    return {
        "id": bag.id,
        "holds": words.held_band(bag.hold_h, plan.horizon_h),
        "band_h": [bag.hold_h.p05, bag.hold_h.p50, bag.hold_h.p95],
        "needed_h": bag.needed_h,
        "late_h": bag.needed_h + plan.forecast.late_h,
        "needed": words.hours(bag.needed_h),
        "margin": words.margin(bag.margin_h, bag.hold_h, plan.horizon_h),
        "margin_late": words.late_margin(bag, plan.horizon_h),
        "short": bag.margin_h < 0,
        "short_late": bag.margin_late_h < 0,
        "first_limit": words.plain(bag.first_limit),
        "hangs_on": words.plain(bag.hangs_on),
        "chance": f"{words.number(100 * bag.chance_ok, 0)} %",
        "chance_late": None if bag.chance_late is None else f"{words.number(100 * bag.chance_late, 0)} %",
    }

"""The receiver's sheet on the tank: where pieces go, lamp, doses, tests, stages, and the filter's test."""

from typing import Any

from ramet.formats.plan import Plan
from ramet.formats.tank_report import BandValue, LightStep, Placement, Stage
from ramet.papers import words
from ramet.papers.tank_views import tank_front_svg, tank_top_svg

Context = dict[str, Any]
_MOST_FREE = 8


def tank_context(plan: Plan) -> Context:
    """Return what the sheet says about the tank, as texts and drawings."""
    names = {one.piece: one.strain for one in plan.chosen}
    drawn = plan.tank.frame is not None and any(one.at_mm for one in plan.tank.placement)
    return {
        "top": tank_top_svg(plan.tank, names) if drawn else "",
        "front": tank_front_svg(plan.tank, names) if drawn else "",
        "places": _places(plan),
        "free": _free(plan),
        "lamp": _lamp(plan),
        "volume": f"{words.number(plan.tank.volume_l, 0)} L net",
        "demand": _demand(plan),
        "supply": _supply(plan),
        "corrections": _corrections(plan),
        "tests": _tests(plan),
        "stages": _stages(plan),
        "biofilter": _biofilter(plan),
    }


def _places(plan: Plan) -> list[Context]:
    light = {step.piece: step for step in plan.tank.light}
    strains = {one.piece: one for one in plan.chosen}
    listed = []
    for place in sorted(plan.tank.placement, key=lambda place: (place.order, place.piece)):
        one, step = strains.get(place.piece), light.get(place.piece)
        listed.append(
            {
                "order": str(place.order),
                "piece": place.piece,
                "strain": one.strain if one else "",
                "bag": one.bag if one else "",
                "where": _where(place),
                "at": _at(place),
                "gap": f"{place.gap_mm} mm" if place.at_mm else "",
                "light": _light(step),
                "verdict": step.verdict if step else "",
                "note": place.note,
            }
        )
    return listed


def _where(place: Placement) -> str:
    return " ".join(part for part in (place.spot, place.zone if place.zone != place.spot else "") if part)


def _at(place: Placement) -> str:
    if place.at_mm is None:
        return ""
    high = f", {place.height_mm} high" if place.height_mm else ""
    return f"{place.at_mm[0]} / {place.at_mm[1]}{high}"


def _light(step: LightStep | None) -> str:
    if step is None:
        return ""
    first, last = (words.number(par, 0) for par in (step.start_par, step.target_par))
    return f"{first} to {last} in {step.days} d"


def _free(plan: Plan) -> str:
    """Name the roomiest of the spots that stay free."""
    free = plan.tank.free_spots
    if not free:
        return ""
    named = ", ".join(
        f"{one.spot or one.zone} at {one.at_mm[0]} / {one.at_mm[1]} ({one.room_mm} mm)"
        for one in free[:_MOST_FREE]
    )
    count = words.plural(len(free), "spot")
    return f"{count} free, with how far from its middle a further piece may grow and reach: {named}"


def _lamp(plan: Plan) -> Context | None:
    lamp = plan.tank.lamp
    if lamp is None:
        return None
    steps = [
        {
            "when": f"day {step.day}" if step.on is None else words.day(step.on),
            "power": words.number(100 * step.power, 0) + " %",
            "share": words.number(100 * step.share, 0) + " %",
        }
        for step in lamp.steps
    ]
    return {"steps": steps, "hours": f"{lamp.photoperiod_h:g} h a day", "note": words.sentence(lamp.note)}


def _demand(plan: Plan) -> list[Context]:
    return [
        {
            "day": f"day {demand.day}",
            "alkalinity": _band(demand.alkalinity),
            "calcium": _band(demand.calcium),
            "magnesium": _band(demand.magnesium),
        }
        for demand in plan.tank.demand
    ]


def _supply(plan: Plan) -> list[Context]:
    return [
        {
            "means": supply.means,
            "dose": f"{words.number(supply.dose_ml_d)} mL/d" if supply.dose_ml_d is not None else "",
            "doses": [f"day {dose.day}: {dose.ml_d:g} mL" for dose in supply.doses]
            or ([f"{words.number(supply.dose_ml_d)} mL"] if supply.dose_ml_d is not None else []),
            "parts": f"in {supply.doses_a_day} parts"
            if supply.doses_a_day and supply.doses_a_day > 1
            else "",
            "alkalinity": words.number(supply.alkalinity_dkh_d, 2),
            "calcium": words.number(supply.calcium_mg_l_d),
            "magnesium": words.number(supply.magnesium_mg_l_d),
            "outgrown": f"day {supply.outgrown_on_day}"
            if supply.outgrown_on_day is not None
            else "not in a year",
            "note": supply.note,
        }
        for supply in plan.tank.supply
    ]


def _corrections(plan: Plan) -> list[str]:
    lines = []
    for one in plan.tank.corrections:
        amount = (
            ""
            if one.amount_d is None
            else f": {words.number(one.amount_d)} {one.amount_unit} a day of {one.with_means}, on top"
        )
        note = f"; {one.note}" if one.note else ""
        days = words.plural(one.days, "day")
        lines.append(f"{one.what} from {one.now:g} to {one.target:g} {one.unit} over {days}{amount}{note}.")
    return [words.sentence(line) for line in lines]


def _tests(plan: Plan) -> list[Context]:
    return [
        {
            "when": f"day {one.day}" if one.on is None else f"{words.day(one.on)}, day {one.day}",
            "tests": ", ".join(one.tests),
            "why": one.why,
        }
        for one in plan.tank.testing
    ]


def _stages(plan: Plan) -> list[Context]:
    """The staged plan; nothing when all can come at once."""
    if len(plan.tank.staging) < 2:
        return []
    return [
        {"when": _week(one), "pieces": ", ".join(one.pieces) or "none", "reason": one.reason}
        for one in plan.tank.staging
    ]


def _week(one: Stage) -> str:
    if one.week is None:
        return "not yet"
    if one.week == 0:
        return "now"
    return f"week {one.week}" if one.on is None else f"week {one.week}, from {words.day(one.on)}"


def _biofilter(plan: Plan) -> Context:
    bio = plan.tank.biofilter
    ready = bio.readiness
    starts = "" if ready is None or ready.starts_by is None else f"start by {words.day(ready.starts_by)}"
    return {
        "enough": "enough" if bio.enough else "not enough",
        "taken": f"{_band(bio.ammonia_in)} {bio.ammonia_in.unit}",
        "capacity": f"{_band(bio.capacity)} {bio.capacity.unit}",
        "media": f"{bio.media_sent} sent, {bio.media_needed} needed",
        "note": words.sentence(bio.note),
        "test": list(ready.steps) if ready is not None else [],
        "starts": starts,
    }


def _band(value: BandValue) -> str:
    low, typical, high = (words.number(one, 2) for one in (value.low, value.typical, value.high))
    return f"{typical} ({low}–{high})"

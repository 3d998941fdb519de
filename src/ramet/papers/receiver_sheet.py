"""The receiver's sheet: what to read before anything is cut open, then bag by bag, then piece by piece."""

from collections.abc import Iterable
from typing import Any

from ramet.formats.plan import Acclimation, Bag, BandValue, Plan
from ramet.papers import words
from ramet.papers.facts_of import cautions_in_order, is_safety, is_toxic, pieces_of
from ramet.papers.packing_list import mark_of

Context = dict[str, Any]

NEVER = (
    "Never pour bag water into the tank, a drain that leads to natural water, or the sea; disinfect it.",
    "Never bubble air into a bag, never drip water into an opened one: as carbon dioxide leaves, "
    "the ammonia turns harmful.",
    "Never put a coral straight into the display before it was looked over and dipped.",
    "Never lift a coral by its flesh; hold the mount or the bare skeleton.",
)


def receiver_context(plan: Plan) -> Context | None:
    """Return the receiver's sheet; nothing when no bag travels."""
    if not plan.bags:
        return None
    head = plan.shipment
    bags = sorted(plan.bags, key=lambda bag: bag.opening_order)
    steps = {one.bag: one for one in plan.tank.acclimation}
    return {
        "receiver": head.receiver,
        "arrives": words.zoned(head.arrives, head.receiver_zone),
        "due": words.zoned(head.due, head.receiver_zone),
        "zone": words.zone_name(head.due, head.receiver_zone),
        "first": _first_line(plan),
        "safety": [caution.text for caution in cautions_in_order(plan) if is_safety(caution)],
        "steps": _shared_steps(bags, steps),
        "never": list(NEVER),
        "bags": [_bag(plan, bag, steps.get(bag.id)) for bag in bags],
        "places": _places(plan),
        "supply": _supply(plan),
        "demand": _demand(plan),
        "biofilter": _biofilter(plan),
        "volume": f"{words.number(plan.tank.volume_l, 0)} L net",
    }


def _first_line(plan: Plan) -> str:
    toxic = [bag.id for bag in plan.bags if is_toxic(plan, bag)]
    if not toxic and not plan.shipment.lay_hands:
        return ""
    parts = []
    if toxic:
        parts.append(
            f"Toxic coral in {words.plural(len(toxic), 'bag')} ({', '.join(toxic)}): "
            "gloves, eye and face cover; no hot water, steam or brushing; wash hands after."
        )
    if plan.shipment.lay_hands:
        parts.append(
            "Children or untrained people are near this tank: only a trained adult opens the bags, "
            "and nobody else touches water, coral or bag until all is put away."
        )
    return " ".join(parts)


def _shared_steps(bags: Iterable[Bag], steps: dict[str, Acclimation]) -> list[Context]:
    """Steps are written once for all bags that share them, in the order of opening."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for bag in bags:
        if bag.id in steps:
            groups.setdefault(steps[bag.id].steps, []).append(bag.id)
    return [
        {"bags": "All bags" if len(groups) == 1 else "Bags " + ", ".join(ids), "steps": list(listed)}
        for listed, ids in groups.items()
    ]


def _bag(plan: Plan, bag: Bag, acclimation: Acclimation | None) -> Context:
    minutes = acclimation.float_min if acclimation else None
    return {
        "open": str(bag.opening_order),
        "id": bag.id,
        "box": bag.box,
        "mark": mark_of(bag),
        "class": words.CLASS[bag.bag_class],
        "contents": _lines(plan, bag),
        "float": "ask the sender"
        if minutes is None
        else ("do not float" if minutes == 0 else f"{minutes} min"),
        "toxic": is_toxic(plan, bag),
    }


def _lines(plan: Plan, bag: Bag) -> list[Context]:
    """One line for each piece, because each is judged by itself."""
    lines = [{"pieces": one.piece, "strain": one.strain, "taxon": one.taxon} for one in pieces_of(plan, bag)]
    if bag.goods:
        lines.append({"pieces": "goods", "strain": bag.goods, "taxon": ""})
    return lines or [{"pieces": "", "strain": "", "taxon": ""}]


def _places(plan: Plan) -> list[Context]:
    light = {step.piece: step for step in plan.tank.light}
    strains = {one.piece: one for one in plan.chosen}
    places = sorted(plan.tank.placement, key=lambda place: (place.order, place.piece))
    listed = []
    for place in places:
        one, step = strains.get(place.piece), light.get(place.piece)
        listed.append(
            {
                "order": str(place.order),
                "piece": place.piece,
                "strain": one.strain if one else "",
                "bag": one.bag if one else "",
                "zone": place.zone,
                "at": f"{place.at_mm[0]} / {place.at_mm[1]} mm" if place.at_mm else "",
                "gap": f"{place.gap_mm} mm",
                "light": f"{words.number(step.start_par, 0)} to {words.number(step.target_par, 0)}"
                if step
                else "",
                "days": f"{step.days} d" if step else "",
                "verdict": step.verdict if step else "",
                "note": place.note,
            }
        )
    return listed


def _supply(plan: Plan) -> list[Context]:
    return [
        {
            "means": supply.means,
            "dose": f"{words.number(supply.dose_ml_d)} mL/d" if supply.dose_ml_d is not None else "",
            "alkalinity": words.number(supply.alkalinity_dkh_d, 2),
            "calcium": words.number(supply.calcium_mg_l_d),
            "magnesium": words.number(supply.magnesium_mg_l_d),
            "outgrown": f"day {supply.outgrown_on_day}"
            if supply.outgrown_on_day is not None
            else "not in 180 d",
            "note": supply.note,
        }
        for supply in plan.tank.supply
    ]


def _biofilter(plan: Plan) -> Context:
    bio = plan.tank.biofilter
    return {
        "enough": "enough" if bio.enough else "not enough",
        "taken": f"{_band(bio.ammonia_in)} {bio.ammonia_in.unit}",
        "capacity": f"{_band(bio.capacity)} {bio.capacity.unit}",
        "media": f"{bio.media_sent} sent, {bio.media_needed} needed",
        "note": words.sentence(bio.note),
    }


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


def _band(value: BandValue) -> str:
    low, typical, high = (words.number(one, 2) for one in (value.low, value.typical, value.high))
    return f"{typical} ({low}–{high})"

"""The receiver's sheet: what to read before anything is cut open, then bag by bag, then piece by piece."""

from typing import Any

from ramet.formats.plan import Bag, Plan
from ramet.formats.tank_report import BandValue
from ramet.papers import words
from ramet.papers.facts_of import AT_THE_RECEIVERS, POISON, Guard, cautions_in_order, guard_of, pieces_of
from ramet.papers.packing_list import guard_words, mark_of

Context = dict[str, Any]

OWN_STEP = "Float, or not, as the table says for each bag."

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
    return {
        "receiver": head.receiver,
        "arrives": words.zoned(head.arrives, head.receiver_zone),
        "due": words.zoned(head.due, head.receiver_zone),
        "zone": words.zone_name(head.due, head.receiver_zone),
        "first": _first_line(plan),
        "safety": [one.text for one in cautions_in_order(plan) if one.code in AT_THE_RECEIVERS],
        "steps": _shared_steps(plan),
        "never": list(NEVER),
        "bags": [_bag(plan, bag) for bag in bags],
        "places": _places(plan),
        "supply": _supply(plan),
        "demand": _demand(plan),
        "biofilter": _biofilter(plan),
        "volume": f"{words.number(plan.tank.volume_l, 0)} L net",
    }


def _first_line(plan: Plan) -> str:
    """Return what must be read before anything is touched, or nothing."""
    guarded: dict[Guard, list[str]] = {}
    for bag in sorted(plan.bags, key=lambda bag: bag.opening_order):
        guard = guard_of(plan, bag)
        if guard is not None:
            guarded.setdefault(guard, []).append(bag.id)
    parts = [f"{guard.word}, bag {', '.join(ids)}: {guard.wear}." for guard, ids in guarded.items()]
    if POISON in guarded:
        parts.append("No hot water, steam or brushing near these; wash hands after.")
    if plan.shipment.lay_hands:
        parts.append(
            "Children or untrained people are near this tank: only a trained adult opens the bags, "
            "and nobody else touches water, coral or bag until all is put away."
        )
    return " ".join(parts)


def _shared_steps(plan: Plan) -> list[str]:
    """Return the steps that all bags share, in order, with one word for where a bag has its own."""
    listed = [one.steps for one in plan.tank.acclimation]
    if not listed:
        return []
    shared = set(listed[0]).intersection(*listed[1:])
    steps: list[str] = []
    for step in listed[0]:
        if step in shared:
            steps.append(step)
        elif not steps or steps[-1] != OWN_STEP:
            steps.append(OWN_STEP)
    return steps


def _own_steps(plan: Plan, bag: Bag) -> str:
    shared = set(_shared_steps(plan))
    own = [step for one in plan.tank.acclimation if one.bag == bag.id for step in one.steps]
    return " ".join(step for step in own if step not in shared)


def _bag(plan: Plan, bag: Bag) -> Context:
    return {
        "open": str(bag.opening_order),
        "id": bag.id,
        "box": words.box_name(bag.box),
        "mark": mark_of(bag),
        "class": words.CLASS[bag.bag_class],
        "contents": _lines(plan, bag),
        "float": _float(plan, bag),
        "own": _own_steps(plan, bag),
        "guard": guard_words(plan, bag),
    }


def _float(plan: Plan, bag: Bag) -> str:
    minutes = {one.bag: one.float_min for one in plan.tank.acclimation}.get(bag.id)
    if minutes is None:
        return "ask the sender"
    return f"{minutes} min" if minutes else "do not float"


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

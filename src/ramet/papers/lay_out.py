"""What to lay out before the first bag is sealed, and what must hold on the morning for it to be a go."""

from collections import Counter, defaultdict
from math import prod
from typing import Any

from ramet.domain.words import Gas
from ramet.formats.plan import Bag, Plan
from ramet.papers import words
from ramet.papers.facts_of import by_margin

Context = dict[str, Any]


def lay_out_context(plan: Plan) -> Context:
    """Return what to take out, by kind, and the go / no-go list."""
    return {
        "bags": _bags(plan),
        "water": _water(plan),
        "water_total": words.litres(sum(bag.water_l for bag in plan.bags)),
        "gases": _gases(plan),
        "others": _others(plan),
        "go": _go(plan),
        "legs": legs(plan),
    }


def _bags(plan: Plan) -> list[Context]:
    kinds: dict[tuple[str, str, float, int], list[Bag]] = defaultdict(list)
    for bag in plan.bags:
        kinds[bag.type, words.STANCE[bag.stance], bag.film_um, bag.layers].append(bag)
    return [
        {
            "count": len(bags),
            "type": words.plain(kind),
            "stance": stance,
            "film": f"{words.number(film_um, 0)} \u03bcm",
            "layers": "single" if layers == 1 else f"{layers} layers",
            "ids": ", ".join(bag.id for bag in bags),
        }
        for (kind, stance, film_um, layers), bags in sorted(kinds.items(), key=lambda item: item[0])
    ]


def _water(plan: Plan) -> list[Context]:
    return [
        {
            "box": words.box_name(box.id),
            "litres": words.litres(sum(bag.water_l for bag in plan.bags if bag.box == box.id)),
        }
        for box in plan.boxes
        if box.bags
    ]


def _gases(plan: Plan) -> list[Context]:
    listed = []
    for gas in Gas:
        bags = [bag for bag in plan.bags if bag.gas is gas]
        if bags:
            volume = words.litres(sum(bag.gas_l for bag in bags))
            listed.append({"gas": words.GAS[gas], "litres": volume, "bags": words.plural(len(bags), "bag")})
    return listed


def _others(plan: Plan) -> list[Context]:
    boxes = [box for box in plan.boxes if box.bags]
    closures = sum(words.closures(bag) for bag in plan.bags)
    packs = Counter(words.plain(pack.kind) for box in boxes for pack in box.packs)
    boards = Counter(
        words.millimetres(pad.size_mm) for box in boxes for pad in box.pads if pad.kind == "board"
    )
    fills = sum(pad.kind == "fill" for box in boxes for pad in box.pads)
    voids_l = sum(prod(pad.size_mm) * 1e-6 for box in boxes for pad in box.pads if pad.kind == "void")
    listed = [
        (str(count), "box" if count == 1 else "boxes", words.plain(kind))
        for kind, count in sorted(Counter(box.type for box in boxes).items())
    ]
    listed += [(str(count), "pack" if count == 1 else "packs", kind) for kind, count in sorted(packs.items())]
    listed += [
        (str(count), "board" if count == 1 else "boards", size) for size, count in sorted(boards.items())
    ]
    if fills:
        listed.append((str(fills), "blocks", "of foam or paper under boards; drawn on the box sheets"))
    if voids_l:
        listed.append(("", "paper fill", f"about {words.litres(voids_l)} for gaps, so that nothing shifts"))
    if plan.bags:
        listed.append(
            (str(closures), "closures", "bands or clips, one for each layer and pocket of each bag")
        )
        listed.append((str(len(boxes)), "liner" if len(boxes) == 1 else "liners", "leak-tight, one a box"))
        listed.append(("", "absorbent", _absorbent(plan)))
        listed.append((str(len(plan.bags)), "labels", "cut from the label sheet"))
    return [{"count": count, "what": what, "detail": detail} for count, what, detail in listed]


def _per_box(plan: Plan) -> str:
    return ", ".join(f"{entry['litres']} in {entry['box']}" for entry in _water(plan))


def _absorbent(plan: Plan) -> str:
    """Tell how much absorbent goes into each liner; a plan without a figure asks for enough."""
    if not any(box.absorbent_g for box in plan.boxes):
        return f"enough in each box for all its water: {_per_box(plan)}"
    each = [f"{box.absorbent_g} g in {words.box_name(box.id)}" for box in plan.boxes if box.bags]
    return f"{', '.join(each)}: takes all the water if every bag leaks"


def legs(plan: Plan) -> list[Context]:
    """Return the legs of the route with their times and the surroundings that were planned for."""
    return [
        {
            "number": str(index),
            "name": leg.name,
            "surroundings": words.plain(leg.surroundings),
            "hours": f"{words.number(leg.start_h)}–{words.number(leg.end_h)} h",
            "range": _range(plan, leg.start_h, leg.end_h),
        }
        for index, leg in enumerate(plan.forecast.legs, start=1)
    ]


def _range(plan: Plan, start_h: float, end_h: float) -> str:
    ambient = plan.forecast.ambient_c
    inside = [i for i, hour in enumerate(plan.forecast.hours) if start_h <= hour <= end_h]
    if not inside:
        return "not on the grid"
    low, high = min(ambient.p05[i] for i in inside), max(ambient.p95[i] for i in inside)
    return f"{words.number(low, 0)} to {words.number(high, 0)} °C"


def _go(plan: Plan) -> list[str]:
    head = plan.shipment
    checks = [
        "Every piece on the list is closed over its cut, firm on its mount, and opens as usual.",
        "Nothing new was found at the last inspection.",
        "The morning's forecast lies within the range planned for, leg by leg (below).",
        f"{head.receiver} has tested the tank, and somebody is there on "
        f"{words.zoned(head.arrives, head.receiver_zone)}.",
        "The carrier takes live aquatic animals and, if there are any, the packs.",
        "All that is on this sheet lies on the bench.",
    ]
    if plan.forecast.bags:
        bag = by_margin(plan)[0]
        checks.append(
            f"The thinnest bag, {bag.id}, can be sealed no more than "
            f"{words.hours(bag.needed_h)} before its coral stands in the tub."
        )
    return checks

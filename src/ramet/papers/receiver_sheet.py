"""The receiver's sheet: what to read before anything is cut open, then bag by bag, then piece by piece."""

from datetime import timedelta
from typing import Any

from ramet.formats.plan import Bag, Plan
from ramet.papers import words
from ramet.papers.facts_of import AT_THE_RECEIVERS, POISON, Guard, cautions_in_order, guard_of, pieces_of
from ramet.papers.packing_list import guard_words, mark_of
from ramet.papers.receiver_tank import tank_context

Context = dict[str, Any]

ANY_MOUNT = "any mount"
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
        "starts": words.clock(head.due, head.receiver_zone),
        "first": _first_line(plan),
        "safety": [one.text for one in cautions_in_order(plan) if one.code in AT_THE_RECEIVERS],
        "steps": _shared_steps(plan),
        "never": list(NEVER),
        "bags": [_bag(plan, bag) for bag in bags],
        "looks": _looks(plan),
        **tank_context(plan),
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
        "clock": _clock(plan, bag),
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


def _clock(plan: Plan, bag: Bag) -> list[str]:
    """Say by the clock when a bag floats, is opened and may be placed, opening at the due time."""
    one = next((it for it in plan.tank.acclimation if it.bag == bag.id), None)
    if one is None or one.clock is None:
        return []
    clock = one.clock
    return [
        *([f"float {_at(plan, clock.float_from)}"] if one.float_min else []),
        f"open {_at(plan, clock.open_at)}",
        *([f"ramp to {_at(plan, clock.dip_until - one.dip_min)}"] if one.ramp_min else []),
        f"place {_at(plan, clock.place_from)}",
    ]


def _at(plan: Plan, minutes: int) -> str:
    head = plan.shipment
    return words.clock(head.due + timedelta(minutes=minutes), head.receiver_zone)


def _looks(plan: Plan) -> list[Context]:
    """What to look for and how to dip, a line for each genus, with its bags."""
    rows: dict[tuple[str, str, str], list[str]] = {}
    for one in plan.tank.acclimation:
        for line in one.inspect:
            genus, _, look = line.partition(": ")
            dip = f"{one.dip}, at most {one.dip_min} min" if one.dip and genus != ANY_MOUNT else ""
            rows.setdefault((genus, look, dip), []).append(one.bag)
    ordered = sorted(rows.items(), key=lambda row: (row[0][0] == ANY_MOUNT, row[0][0]))
    return [
        {
            "genus": genus,
            "bags": "all" if genus == ANY_MOUNT else ", ".join(bags),
            "look": look,
            "dip": dip,
        }
        for (genus, look, dip), bags in ordered
    ]

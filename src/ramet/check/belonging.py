"""Names are unique and lists agree: every piece in one bag, every bag in one box."""

from collections import Counter
from collections.abc import Iterable, Iterator

from ramet.check.finding import Fault
from ramet.domain.words import PackingRule
from ramet.formats.plan import Plan
from ramet.reference.tables import Reference


def names_are_unique(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No two bags, boxes, tasks or chosen pieces have one name, whatever its case."""
    groups: tuple[tuple[str, Iterable[str]], ...] = (
        ("bags", (bag.id for bag in plan.bags)),
        ("boxes", (box.id for box in plan.boxes)),
        ("tasks", (task.id for task in plan.tasks)),
        ("chosen", (one.piece for one in plan.chosen)),
    )
    for group, names in groups:
        for name, count in Counter(name.casefold() for name in names).items():
            if count > 1:
                yield Fault(group, f"{count} of them are named “{name}”")


def chosen_pieces_are_bagged_once(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every chosen piece is in exactly one bag, the one it names, and no other piece is in any bag."""
    bags_of: dict[str, list[str]] = {one.piece: [] for one in plan.chosen}
    for bag in plan.bags:
        for piece in bag.pieces:
            if piece not in bags_of:
                yield Fault(bag.id, f"holds {piece}, which is not among the chosen")
            bags_of.setdefault(piece, []).append(bag.id)
    for one in plan.chosen:
        if bags_of[one.piece] != [one.bag]:
            found = ", ".join(bags_of[one.piece]) or "no bag"
            yield Fault(one.piece, f"names bag {one.bag} but is in {found}")


def bags_hold_something(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A bag holds pieces or goods, never both and never nothing; only goods travel in the class of goods."""
    for bag in plan.bags:
        if bool(bag.pieces) == (bag.goods is not None):
            yield Fault(bag.id, "holds " + ("pieces and goods" if bag.pieces else "nothing"))
        if (bag.bag_class == "goods") != (bag.goods is not None):
            yield Fault(bag.id, f"its class is {bag.bag_class} but its goods are {bag.goods or 'none'}")


def bags_are_boxed_once(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every bag is listed by exactly one box, the one it names."""
    listed = Counter(bag for box in plan.boxes for bag in box.bags)
    known = {bag.id for bag in plan.bags}
    for box in plan.boxes:
        for name in box.bags:
            if name not in known:
                yield Fault(box.id, f"lists bag {name}, which does not exist")
    boxes = {box.id: box for box in plan.boxes}
    for bag in plan.bags:
        if listed[bag.id] != 1:
            yield Fault(bag.id, f"is listed by {listed[bag.id]} boxes")
        if bag.box not in boxes:
            yield Fault(bag.id, f"names box {bag.box}, which does not exist")
        elif bag.id not in boxes[bag.box].bags:
            yield Fault(bag.id, f"names box {bag.box}, which does not list it")


def boxes_hold_something(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No box goes empty."""
    for box in plan.boxes:
        if not box.bags:
            yield Fault(box.id, "goes without a bag in it")


def every_rule_of_packing_is_told(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The plan names each rule of packing once, in words, and says whether the shipment keeps it."""
    told = Counter(setting.rule for setting in plan.rules)
    for rule in PackingRule:
        if told[rule] != 1:
            yield Fault("rules", f"{rule} is named {told[rule]} times")
    for setting in plan.rules:
        if not setting.words.strip():
            yield Fault("rules", f"{setting.rule} is named without words")


def orders_run_through(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Sealing orders and opening orders number the bags 1, 2, 3 … without a gap."""
    wanted = list(range(1, len(plan.bags) + 1))
    for name, orders in (
        ("sealing order", sorted(bag.sealing_order for bag in plan.bags)),
        ("opening order", sorted(bag.opening_order for bag in plan.bags)),
    ):
        if orders != wanted:
            yield Fault("bags", f"the {name} is {orders}, not 1 to {len(plan.bags)}")


def forecasts_cover_every_bag_and_box(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The forecast has exactly one entry for each bag and each box."""
    for what, have, want in (
        ("bags", [one.id for one in plan.forecast.bags], [bag.id for bag in plan.bags]),
        ("boxes", [one.id for one in plan.forecast.boxes], [box.id for box in plan.boxes]),
    ):
        if sorted(have) != sorted(want):
            odd = sorted(set(have) ^ set(want)) or ["one twice"]
            yield Fault(f"forecast.{what}", f"does not match the plan's {what}: {', '.join(odd)}")

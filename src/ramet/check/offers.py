"""Cost, other ways and substitutes agree with the plan they stand beside."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from ramet.check.finding import Fault
from ramet.domain.words import BagClass
from ramet.formats.plan import Plan
from ramet.reference.tables import Reference

CENT = Decimal("0.01")


def costs_add_up(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The cost is the sum of the prices of the boxes that go, and a piece costs its share of it."""
    cost = plan.cost
    if cost is None:
        return
    billed = {box.id: box.billed_kg for box in plan.boxes}
    if {one.box: one.billed_kg for one in cost.boxes} != billed:
        yield Fault("cost.boxes", "are not the boxes of the plan with what they bill")
    total = sum((one.price for one in cost.boxes), Decimal(0))
    if cost.total != total:
        yield Fault("cost.total", f"is {cost.total}, the boxes cost {total}")
    if cost.per_piece is not None and abs(cost.per_piece * len(plan.chosen) - total) > CENT * len(
        plan.chosen
    ):
        yield Fault("cost.per_piece", f"is {cost.per_piece} for {len(plan.chosen)} pieces that cost {total}")


def other_ways_count_right(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Another way carries what this plan carries, with what it gains and without what it loses.

    Goods are no pieces; a line that sends nothing now and gains one may be of goods: the plan does not tell.
    """
    goods = {bag.goods for bag in plan.bags if bag.goods}
    sent = Counter(one.request for one in plan.chosen)
    for way in plan.other_ways:
        gains = {line: count for line, count in way.gains.items() if line not in goods}
        gained = sum(gains.values())
        lost = sum(count for line, count in way.loses.items() if line not in goods)
        perhaps_goods = sum(count == 1 and line not in sent for line, count in gains.items())
        less = len(plan.chosen) + gained - lost - way.pieces
        if not 0 <= less <= perhaps_goods:
            yield Fault(
                way.kind, f"{way.pieces} pieces, {len(plan.chosen)} with {gained} more and {lost} fewer"
            )
        for line, count in way.loses.items():
            if line not in goods and count > sent[line]:
                yield Fault(way.kind, f"loses {count} of {line}, of which {sent[line]} go")


def substitutes_are_free(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No substitute goes already or is the mother of a cut that goes, and each bag it fits is of its line."""
    going = {one.piece for one in plan.chosen}
    mothers = {one.mother for one in plan.chosen}
    lines = {one.bag: one.request for one in plan.chosen}
    for line in plan.substitutes:
        for one in line.ranked:
            if one.piece in going:
                yield Fault(line.request, f"{one.piece} is named as a substitute and goes")
            if one.piece in mothers:
                yield Fault(line.request, f"{one.piece} is named as a substitute, and cuts of it go")
            for bag in one.bags:
                if lines.get(bag) != line.request:
                    yield Fault(
                        line.request, f"{one.piece} is said to fit bag {bag}, which is not of this line"
                    )


def substitutes_fit_their_bags(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A substitute is of the class of the one piece whose bag it fits, and no larger along any side."""
    for line in plan.substitutes:
        for one in line.ranked:
            genus = reference.genus(one.taxon)
            own = BagClass.STINGING if genus is None else genus.bag_class
            for bag in one.bags:
                was = [piece for piece in plan.chosen if piece.bag == bag]
                if len(was) != 1:
                    yield Fault(line.request, f"{one.piece} is said to fit bag {bag}, which holds {len(was)}")
                elif was[0].bag_class != own:
                    yield Fault(line.request, f"{one.piece} is {own}, bag {bag} is {was[0].bag_class}")
                elif _is_larger(one.size_mm, was[0].size_mm):
                    yield Fault(line.request, f"{one.piece} is larger than {was[0].piece}, whose bag it fits")


def every_line_names_its_substitutes(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Each line that sends something says once what can take a rejected piece's place, or what to do."""
    told = Counter(line.request for line in plan.substitutes)
    sending = {one.request for one in plan.chosen}
    for request in sorted(sending | told.keys()):
        if told[request] != int(request in sending):
            yield Fault(request, f"its substitutes are told {told[request]} times")


def lines_without_substitutes_say_so(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Where no substitute is named, the line says what to do."""
    for line in plan.substitutes:
        if not line.ranked and not line.note:
            yield Fault(line.request, "has no substitute and no word about it")


def _is_larger(one_mm: tuple[float, ...], other_mm: tuple[float, ...]) -> bool:
    return any(a > b + 1e-6 for a, b in zip(sorted(one_mm), sorted(other_mm), strict=True))

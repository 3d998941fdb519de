"""Who may share water: one class a bag, one strain, and some kinds never with anything."""

from collections.abc import Iterator, Mapping

from ramet.check.bodies import below, bodies_in, carriers
from ramet.check.finding import Fault
from ramet.check.sharing import shared_bags
from ramet.domain.words import BagClass, Form, Stance
from ramet.formats.plan import Chosen, Plan
from ramet.reference.tables import Reference

ALONE_FORMS = frozenset({Form.FLESHY, Form.LEATHER, Form.WALL})
SHARP_FORMS = frozenset({Form.BRANCHING, Form.TABLE})
ALONE_FAMILIES = frozenset({"Euphylliidae"})


def classes_follow_the_genus(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Every piece travels in the class of its genus, looked up again; an unknown genus counts as stinging."""
    for one in plan.chosen:
        genus = reference.genus(one.taxon)
        expected = BagClass.STINGING if genus is None else genus.bag_class
        if one.bag_class != expected:
            yield Fault(one.piece, f"{one.taxon} travels as {one.bag_class}, its genus is {expected}")


def one_class_a_bag(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Stony, soft, zoanthid and stinging corals never share a bag, and a bag bears the class it holds."""
    chosen = _by_piece(plan)
    for bag in plan.bags:
        classes = {chosen[piece].bag_class for piece in bag.pieces if piece in chosen}
        if classes and classes != {bag.bag_class}:
            yield Fault(bag.id, f"is marked {bag.bag_class} and holds {', '.join(sorted(classes))}")


def touchy_kinds_travel_alone(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Fleshy and wall-forming corals, leathers, Euphyllia and its kin have a bag each, even of one strain."""
    for bag, pieces in shared_bags(plan):
        for one in pieces:
            genus = reference.genus(one.taxon)
            kin = genus is not None and genus.family in ALONE_FAMILIES
            if kin or one.form in ALONE_FORMS:
                yield Fault(bag.id, f"{one.piece} ({one.taxon}, {one.form}) shares it with others")


def few_share_a_bag(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """At most six pieces share a bag."""
    most = reference.parameter("most_pieces_in_bag").band.high
    for bag in plan.bags:
        if len(bag.pieces) > most:
            yield Fault(bag.id, f"holds {len(bag.pieces)} pieces")


def soft_bags_are_double(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A bag with soft corals has at least two layers."""
    least = reference.parameter("double_bag_layers").band.low
    for bag in plan.bags:
        if bag.bag_class == BagClass.SOFT and bag.layers < least:
            yield Fault(bag.id, f"soft corals in {bag.layers} layer")


def sharp_bags_are_double(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A bag with sharp skeletons (branching, table) has two layers at least, unless it is a rigid cup."""
    least = reference.parameter("double_bag_layers").band.low
    chosen = _by_piece(plan)
    for bag in plan.bags:
        known = reference.bags.get(bag.type)
        sharp = any(chosen[piece].form in SHARP_FORMS for piece in bag.pieces if piece in chosen)
        hard = bag.bag_class != BagClass.SOFT
        if hard and sharp and bag.layers < least and not (known is not None and known.rigid):
            yield Fault(bag.id, f"sharp skeletons in {bag.layers} layer")


def only_small_frags_lie(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Of bags with corals only those with small branching frags lie."""
    most = reference.parameter("lies_up_to_mm").band.high
    chosen = _by_piece(plan)
    for bag in plan.bags:
        for one in (chosen[piece] for piece in bag.pieces if piece in chosen):
            if bag.stance == Stance.LIES and (one.form != Form.BRANCHING or max(one.size_mm) > most):
                yield Fault(bag.id, f"lies with {one.piece} ({one.form}, {max(one.size_mm):.0f} mm)")


def soft_never_above_others(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A bag with soft corals never lies above a bag of another class."""
    classes = {bag.id: bag.bag_class for bag in plan.bags}
    for box in plan.boxes:
        bags = [body for body in bodies_in(plan, box) if body.kind == "bag"]
        for body in bags:
            if classes[body.name] != BagClass.SOFT:
                continue
            for other in below(body, bags):
                if classes[other.name] != BagClass.SOFT:
                    yield Fault(body.name, f"soft corals above {other.name} ({classes[other.name]})")


def soft_boards_cover_no_others(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A board with soft corals on it has no bag of another class anywhere below it: it spreads what leaks."""
    classes = {bag.id: bag.bag_class for bag in plan.bags}
    for box in plan.boxes:
        bodies = bodies_in(plan, box)
        bags = [body for body in bodies if body.kind == "bag"]
        for soft in (body for body in bags if classes[body.name] == BagClass.SOFT):
            for board in (one for one, _ in carriers(soft, bodies) if one.kind == "board"):
                for other in below(board, bags):
                    if classes[other.name] != BagClass.SOFT:
                        under = f"{other.name} ({classes[other.name]})"
                        yield Fault(soft.name, f"soft corals on {board.name}, which covers {under}")


def _by_piece(plan: Plan) -> Mapping[str, Chosen]:
    return {one.piece: one for one in plan.chosen}

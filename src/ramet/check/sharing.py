"""Pieces that share a bag: one strain by its ancestor, room for each, a pocket each in a divided bag."""

import math
from collections.abc import Iterator

from ramet.check.finding import Fault
from ramet.check.switches import is_off
from ramet.domain.words import PackingRule, Stance
from ramet.formats.plan import Bag, Chosen, Plan
from ramet.reference.tables import Reference

ROUNDING_MM = 1.0


def one_strain_a_bag(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Pieces that share a bag are of one strain: one name and a common ancestor; the name is not enough."""
    for bag, pieces in shared_bags(plan):
        strains = {one.strain.casefold(): one.strain for one in pieces}
        if len(strains) > 1:
            yield Fault(bag.id, f"holds several strains: {', '.join(sorted(strains.values()))}")
        roots = {one.ancestor for one in pieces}
        if len(roots) > 1 or None in roots:
            told = ", ".join(sorted(root or "none" for root in roots))
            yield Fault(bag.id, f"holds pieces without a common ancestor: {told}")


def pieces_have_a_bag_each(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Where sharing is switched off, every piece has a bag of its own."""
    for bag, pieces in shared_bags(plan):
        if is_off(plan, PackingRule.SHARE_BAGS):
            yield Fault(bag.id, f"holds {len(pieces)} pieces")


def only_small_pieces_share(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Pieces that share a bag are small, and neither soft nor stinging."""
    most = reference.parameter("shares_up_to_mm").band.high
    for bag, pieces in shared_bags(plan):
        for one in pieces:
            if max(one.size_mm) > most:
                yield Fault(bag.id, f"{one.piece} is {max(one.size_mm):.0f} mm, at most {most:.0f} mm share")
        if bag.bag_class in ("soft", "stinging"):
            yield Fault(bag.id, f"{len(pieces)} {bag.bag_class} corals share it")


def shared_bags_have_room(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Pieces that share a plain bag stand side by side in it; in a divided one each fits its pocket."""
    for bag, pieces in shared_bags(plan):
        known = reference.bags.get(bag.type)
        if known is None or known.compartments != bag.compartments:
            continue
        if bag.compartments == 1:
            ground = sum(one.size_mm[0] * one.size_mm[1] for one in pieces)
            if bag.stance == Stance.LIES:
                yield Fault(bag.id, f"lies with {len(pieces)} pieces in one room")
            elif ground > bag.size_mm[0] * bag.size_mm[1]:
                yield Fault(bag.id, f"has no ground for {len(pieces)} pieces side by side")
            continue
        for one in pieces:
            across = 2 * known.flat_width_mm / math.pi
            if sorted(one.size_mm)[1] > across + ROUNDING_MM:
                yield Fault(bag.id, f"{one.piece} is wider than its pocket of {across:.0f} mm")


def divided_bags_have_a_pocket_each(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A bag has the pockets that its type has, and a divided one holds one piece in each."""
    for bag in plan.bags:
        known = reference.bags.get(bag.type)
        if known is not None and bag.compartments != known.compartments:
            yield Fault(
                bag.id, f"is said to have {bag.compartments} pockets, {bag.type} has {known.compartments}"
            )
        if bag.compartments > 1 and len(bag.pieces) != bag.compartments:
            yield Fault(bag.id, f"holds {len(bag.pieces)} pieces in {bag.compartments} pockets")


def shared_bags(plan: Plan) -> Iterator[tuple[Bag, tuple[Chosen, ...]]]:
    """Yield each bag that holds several chosen pieces, with them."""
    chosen = {one.piece: one for one in plan.chosen}
    for bag in plan.bags:
        pieces = tuple(chosen[piece] for piece in bag.pieces if piece in chosen)
        if len(pieces) > 1:
            yield bag, pieces

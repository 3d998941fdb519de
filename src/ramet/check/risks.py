"""The risk is spread, thin bags are opened first, low ones sealed first, a strain's last piece stays."""

from collections.abc import Iterator, Sequence
from itertools import permutations

from ramet.check.bodies import below, bodies_in
from ramet.check.finding import Fault
from ramet.check.switches import is_off
from ramet.domain.words import PackingRule, Rank
from ramet.formats.plan import Chosen, Plan
from ramet.reference.tables import Reference

ROUNDING_H = 0.021
TOLD = "all_in_one_box"
"""The caution that owns up to risk which could not be spread."""


def musts_ride_apart(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Where two or more boxes are used, no box carries every must, unless a caution says why."""
    musts = [one for one in plan.chosen if one.rank == Rank.MUST]
    if _all_in_one(plan, musts) and not _owned_up(plan, "musts"):
        yield Fault("chosen", f"all {len(musts)} musts ride in one box")


def strains_ride_apart(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Where two or more boxes are used, no box carries every copy of a strain, unless a caution says why."""
    for strain in sorted({one.strain for one in plan.chosen}):
        copies = [one for one in plan.chosen if one.strain == strain]
        if _all_in_one(plan, copies) and not _owned_up(plan, strain):
            yield Fault(strain, f"all {len(copies)} copies ride in one box")


def low_bags_are_sealed_first(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No bag is sealed before one under it, unless that one came by a change at the bench later on."""
    orders = {bag.id: bag.sealing_order for bag in plan.bags}
    before_a_change = {bag for change in plan.changes for bag in change.sealed}
    for box in plan.boxes:
        bags = [body for body in bodies_in(plan, box) if body.kind == "bag"]
        for bag in bags:
            for other in below(bag, bags):
                late = bag.name not in before_a_change or other.name in before_a_change
                if late and orders[bag.name] < orders[other.name]:
                    yield Fault(bag.name, f"is sealed before {other.name}, which stands under it")


def thin_bags_are_opened_first(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No bag is opened before one that breaks sooner; after a change at the bench the labels stand."""
    if plan.journey is None or plan.changes:
        return
    sealed_h = {bag.id: bag.sealed_before_h for bag in plan.journey.bags}
    orders = {bag.id: bag.opening_order for bag in plan.bags}
    within = [one for one in plan.forecast.bags if one.hold_h.p05 < plan.horizon_h - ROUNDING_H]
    breaks_h = {one.id: one.hold_h.p05 - sealed_h[one.id] for one in within if one.id in sealed_h}
    for one, other in permutations((id for id in breaks_h if id in orders), 2):
        if orders[one] < orders[other] and breaks_h[one] > breaks_h[other] + ROUNDING_H:
            yield Fault(
                one, f"is opened before {other}, which breaks {breaks_h[one] - breaks_h[other]:.1f} h sooner"
            )


def boxes_are_opened_from_the_top(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Where thin bags need not be opened first, one box is opened after the other, each from its top."""
    if plan.changes or not is_off(plan, PackingRule.THINNEST_OPENED_FIRST):
        return
    orders = {bag.id: bag.opening_order for bag in plan.bags}
    for box in plan.boxes:
        bags = [body for body in bodies_in(plan, box) if body.kind == "bag"]
        own = sorted(orders[bag.name] for bag in bags)
        if own and own[-1] - own[0] >= len(own):
            yield Fault(box.id, f"is opened in the turns {', '.join(map(str, own))}, with others in between")
        for bag in bags:
            for other in below(bag, bags):
                if orders[other.name] < orders[bag.name]:
                    yield Fault(other.name, f"is opened before {bag.name}, which stands over it")


def last_pieces_stay(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The last piece of a strain stays behind, unless its line says that it may go.

    In a plan that was changed at the bench a caution may own up to it: others can have died since.
    """
    given_away = {one.strain.casefold() for one in plan.chosen if one.last_may_go}
    for one in plan.chosen:
        owned_up = bool(plan.changes) and _owned_up(plan, one.strain, "last_of_strain")
        if one.strain_left is None:
            yield Fault(one.piece, f"how many of {one.strain} stay behind is not told")
        elif one.strain_left == 0 and not owned_up and one.strain.casefold() not in given_away:
            yield Fault(one.piece, f"nothing of {one.strain} stays behind, and its line does not allow that")


def strain_counts_agree(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Pieces of a strain tell one number that stays behind; a cut leaves at least its mother there."""
    told: dict[str, set[int]] = {}
    for one in plan.chosen:
        told.setdefault(one.strain.casefold(), set()).add(one.strain_left or 0)
        if one.mother is not None and one.strain_left == 0 and not plan.changes:
            yield Fault(one.piece, f"nothing of {one.strain} is said to stay behind, yet {one.mother} does")
    for strain, numbers in told.items():
        if len(numbers) > 1:
            yield Fault(strain, f"is said to leave {', '.join(map(str, sorted(numbers)))} behind")


def _all_in_one(plan: Plan, pieces: Sequence[Chosen]) -> bool:
    box_of = {bag.id: bag.box for bag in plan.bags}
    used = {bag.box for bag in plan.bags}
    return len(used) > 1 and len(pieces) > 1 and len({box_of.get(one.bag) for one in pieces}) == 1


def _owned_up(plan: Plan, name: str, code: str = TOLD) -> bool:
    return any(caution.code == code and f"“{name}”" in caution.text for caution in plan.cautions)

"""What a plan tells of changes at the bench agrees with what it sends now."""

from collections.abc import Iterator

from ramet.check.finding import Fault
from ramet.formats.plan import Plan
from ramet.reference.tables import Reference


def withdrawn_pieces_stay_behind(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A piece that was withdrawn at the bench does not go, unless a later change brought it in again."""
    going = {one.piece for one in plan.chosen}
    for number, change in enumerate(plan.changes):
        later = {piece for other in plan.changes[number + 1 :] for piece in other.brought_in}
        if change.withdrawn in going - later:
            yield Fault(change.withdrawn, "was withdrawn at the bench, yet it goes")


def labels_are_never_used_again(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No bag has the name of one that a change at the bench left behind: its label may lie there still."""
    going = {bag.id for bag in plan.bags}
    for change in plan.changes:
        if change.not_sent in going:
            yield Fault(change.not_sent, f"went with {change.withdrawn}, which was withdrawn, and goes again")


def the_last_change_is_packed(plan: Plan, _: Reference) -> Iterator[Fault]:
    """What the last change brought in goes, in a bag of those that the change made, and says so in words."""
    if not plan.changes:
        return
    change = plan.changes[-1]
    bag_of = {one.piece: one.bag for one in plan.chosen}
    for piece in change.brought_in:
        if bag_of.get(piece) not in change.bags:
            yield Fault(piece, f"was brought in at the bench, yet it is in {bag_of.get(piece) or 'no bag'}")
    for name in sorted(set(change.bags) - {bag.id for bag in plan.bags}):
        yield Fault(name, "was made at the bench, yet no such bag goes")
    if not any(words.strip() for words in change.words):
        yield Fault("changes", f"the withdrawal of {change.withdrawn} is not told in words")


def sealed_bags_keep_their_turn(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Bags that were sealed before a change come before all others in the order of sealing."""
    if not plan.changes:
        return
    sealed = [bag for bag in plan.bags if bag.id in plan.changes[-1].sealed]
    last = max((bag.sealing_order for bag in sealed), default=0)
    if last > len(sealed):
        yield Fault("bags", f"{len(sealed)} were sealed before the last change, one has the turn {last}")

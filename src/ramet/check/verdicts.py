"""The verdict, and what stayed behind, agree with the rest of the plan."""

from collections import Counter
from collections.abc import Iterator

from ramet.check.finding import Fault
from ramet.domain.words import Rank, Status
from ramet.formats.plan import Plan
from ramet.reference.tables import Reference


def ready_means_all_musts_hold(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A plan is ready exactly when every must is sent and every bag holds on time."""
    missing = [one.request for one in plan.left_out if one.rank == Rank.MUST and one.sent < one.wanted]
    thin = [bag.id for bag in plan.forecast.bags if bag.margin_h < 0]
    if plan.status == Status.READY:
        for request in missing:
            yield Fault(request, "a must is short, yet the plan is called ready")
        for bag in thin:
            yield Fault(bag, "does not hold on time, yet the plan is called ready")
        if not plan.bags:
            yield Fault("bags", "nothing is sent, yet the plan is called ready")
    elif plan.status == Status.SHORT and plan.bags and not missing and not thin:
        yield Fault("status", "is short, yet every must is sent and every bag holds")
    elif plan.status == Status.IMPOSSIBLE and plan.bags and not missing and not thin:
        yield Fault("status", "is impossible, yet no must is short and every bag holds")


def left_out_counts_agree(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A line that is left out is short, is told once, and its count of pieces sent is true."""
    sent = Counter(one.request for one in plan.chosen)
    goods = Counter(bag.goods for bag in plan.bags if bag.goods is not None)
    for request, count in Counter(one.request for one in plan.left_out).items():
        if count > 1:
            yield Fault(request, f"is left out {count} times")
    for one in plan.left_out:
        found = sent[one.request] + goods[one.request]
        if one.sent != found:
            yield Fault(one.request, f"is said to send {one.sent}, {found} are among the chosen")
        if one.sent >= one.wanted:
            yield Fault(one.request, f"is left out, yet {one.sent} of {one.wanted} are sent")
        if not one.reasons:
            yield Fault(one.request, "is left out without a reason")


def lines_keep_their_rank(plan: Plan, _: Reference) -> Iterator[Fault]:
    """All pieces of a request line, sent or left out, have one rank and count for the same."""
    ranks: dict[str, set[Rank]] = {}
    values: dict[str, set[int]] = {}
    for piece in plan.chosen:
        ranks.setdefault(piece.request, set()).add(piece.rank)
        values.setdefault(piece.request, set()).add(piece.value)
    for line in plan.left_out:
        ranks.setdefault(line.request, set()).add(line.rank)
    for request, found in ranks.items():
        if len(found) > 1:
            yield Fault(request, f"has the ranks {', '.join(sorted(found))}")
    for request, numbers in values.items():
        if len(numbers) > 1:
            yield Fault(request, f"has the values {sorted(numbers)}")


def no_mother_is_sent_with_her_cuts(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A cut piece names its mother, a whole piece is not cut from one, and no mother leaves with her cuts."""
    sent = {one.piece for one in plan.chosen}
    for one in plan.chosen:
        if one.how == "cut" and one.mother is None:
            yield Fault(one.piece, "is to be cut from no mother")
        if one.how == "cut" and one.mother in sent:
            yield Fault(one.piece, f"is cut from {one.mother}, which is sent itself")

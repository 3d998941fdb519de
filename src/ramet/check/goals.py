"""How good the choice is said to be: goals count what goes, bounds lie beyond them, gaps follow from both."""

from collections.abc import Iterator

from ramet.check.finding import Fault
from ramet.domain.words import Rank
from ramet.formats.plan import Goal, Plan
from ramet.reference.tables import Reference

GOODS_VALUE = 10
"""A bag of goods that goes as a filler counts so much."""
SLACK = 1e-6
LEAST = "billed"
"""The one goal of which less is better begins with this word."""


def goals_count_what_goes(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Musts, wants and fillers count what goes, and each bag of goods among one of them."""
    told = {_word(goal): goal.value for goal in plan.optimum.goals}
    sent: dict[str, tuple[float, float]] = {
        "musts": (sum(one.rank == Rank.MUST for one in plan.chosen), 1),
        "wants": (sum(one.rank == Rank.WANT for one in plan.chosen), 1),
        "value": (sum(one.value for one in plan.chosen if one.rank == Rank.FILLER), GOODS_VALUE),
    }
    goods = sum(bag.goods is not None for bag in plan.bags)
    counted = {word: (told[word] - sent[word][0]) / sent[word][1] for word in sent if word in told}
    for word, more in counted.items():
        if not -SLACK <= more <= goods + SLACK:
            yield Fault(f"optimum.{word}", f"is {told[word]:g}, the corals that go come to {sent[word][0]:g}")
    if len(counted) == len(sent) and abs(sum(counted.values()) - goods) > SLACK:
        yield Fault("optimum.goals", f"count {sum(counted.values()):g} bags of goods, {goods} go")


def billed_goal_is_what_the_boxes_bill(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The billed mass among the goals is that of the boxes, a step of the carrier for each at most apart."""
    terms = plan.shipment.terms
    slack = SLACK + (0.0 if terms is None else terms.mass_step_kg * len(plan.boxes))
    billed = sum(box.billed_kg for box in plan.boxes)
    for goal in plan.optimum.goals:
        if _word(goal) == LEAST and abs(goal.value - billed) > slack:
            yield Fault(goal.goal, f"is {goal.value:g}, the boxes bill {billed:g}")


def bounds_lie_beyond_the_values(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No bound is on the wrong side: nothing can be better than it, the plan not either."""
    for goal in plan.optimum.goals:
        beyond = goal.value - goal.bound if _word(goal) == LEAST else goal.bound - goal.value
        if beyond < -SLACK:
            yield Fault(goal.goal, f"is {goal.value:g}, better than its bound {goal.bound:g}")


def gaps_add_up(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Each goal's gap is |bound - value| / max(1, |value|), and a proven goal has none."""
    for goal in plan.optimum.goals:
        gap = abs(goal.bound - goal.value) / max(1.0, abs(goal.value))
        if abs(goal.gap - gap) > 1e-4:
            yield Fault(goal.goal, f"a gap of {goal.gap:g} where it is {gap:.4g}")
        if goal.proven and gap > 1e-4:
            yield Fault(goal.goal, f"is called proven with a gap of {gap:.4g}")


def optimum_names_the_open_goal(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The optimum's value, bound and gap are those of the first goal not proven, else of the last."""
    if not plan.optimum.goals:
        return
    shown = next((goal for goal in plan.optimum.goals if not goal.proven), plan.optimum.goals[-1])
    for name in ("value", "bound", "gap"):
        if abs(getattr(plan.optimum, name) - getattr(shown, name)) > 1e-6:
            yield Fault(
                f"optimum.{name}",
                f"is {getattr(plan.optimum, name):g}, goal {shown.goal} has {getattr(shown, name):g}",
            )


def _word(goal: Goal) -> str:
    """Return the first word of a goal, by which it is known."""
    return goal.goal.partition(" ")[0]

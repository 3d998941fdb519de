"""What the page of a shipment shows of its plan and of the planning that goes on."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from ramet.domain.jobs import Job, JobState
from ramet.domain.words import Rank, Status
from ramet.formats.plan import Bag, BagForecast, Box, Caution, Chosen, Goal, LeftOut, Plan, Reason
from ramet.papers.facts_of import by_margin, cautions_in_order, is_safety, reasons_by_code
from ramet.papers.marks import verdict_mark
from ramet.papers.notes import lines_in_order
from ramet.papers.words import VERDICT, ways


@dataclass(frozen=True, slots=True)
class LineView:
    """A request line and the pieces that go for it."""

    id: str
    rank: Rank
    pieces: tuple[Chosen, ...]


@dataclass(frozen=True, slots=True)
class LeftView:
    """A line that is not wholly met, its reasons by kind with how many pieces each holds back."""

    left: LeftOut
    reasons: tuple[tuple[Reason, int], ...]


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan at a glance."""

    plan: Plan
    mark: Markup
    word: str
    boxes: tuple[Box, ...]
    mass_kg: float
    billed_kg: float
    water_l: float
    thinnest: BagForecast | None
    thinnest_late: BagForecast | None
    short_when_late: int
    lines: tuple[LineView, ...]
    left: tuple[LeftView, ...]
    safety: tuple[Caution, ...]
    other_cautions: tuple[Caution, ...]
    goals: tuple[Goal, ...]
    bag_of: dict[str, Bag]
    ways: tuple[str, ...]
    rules_off: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanningView:
    """How far the planning of a shipment is, or how it ended when that is worth telling."""

    is_open: bool
    waits: bool
    stage: str
    goal: str
    value: float | None
    bound: float | None
    since: datetime
    stop_asked: bool
    failed: str
    stopped: str

    @property
    def gap(self) -> float | None:
        """The share by which a better plan could still be better; None while that is not known."""
        if self.value is None or self.bound is None:
            return None
        return abs(self.bound - self.value) / max(1.0, abs(self.value))


def plan_view(plan: Plan) -> PlanView:
    """Return a plan as its page shows it."""
    boxes = tuple(box for box in plan.boxes if box.bags)
    forecasts = by_margin(plan)
    cautions = cautions_in_order(plan)
    return PlanView(
        plan=plan,
        mark=Markup(verdict_mark(plan.status, "currentColor")),
        word=VERDICT[plan.status],
        boxes=boxes,
        mass_kg=sum(box.mass_kg for box in boxes),
        billed_kg=sum(box.billed_kg for box in boxes),
        water_l=sum(bag.water_l for bag in plan.bags),
        thinnest=forecasts[0] if forecasts else None,
        thinnest_late=min(forecasts, key=lambda one: (one.margin_late_h, one.id), default=None),
        short_when_late=sum(one.margin_late_h < 0 for one in forecasts),
        lines=_lines(plan),
        left=tuple(_left(one) for one in lines_in_order(plan)),
        safety=tuple(one for one in cautions if is_safety(one)),
        other_cautions=tuple(one for one in cautions if not is_safety(one)),
        goals=plan.optimum.goals,
        bag_of={bag.id: bag for bag in plan.bags},
        ways=tuple(ways(plan)),
        rules_off=tuple(rule.words for rule in plan.rules if not rule.on),
    )


def planning_view(job: Job | None) -> PlanningView | None:
    """Return how a job stands; None when there is none or it is done, for then the plan speaks."""
    if job is None or job.state is JobState.DONE:
        return None
    return PlanningView(
        is_open=job.is_open,
        waits=job.state is JobState.QUEUED,
        stage=job.progress.stage,
        goal=job.progress.goal,
        value=job.progress.value,
        bound=job.progress.bound,
        since=job.started_at or job.asked_at,
        stop_asked=job.stop_asked,
        failed=job.answer if job.state is JobState.FAILED else "",
        stopped=job.answer if job.state is JobState.STOPPED else "",
    )


def status_mark(status: Status) -> Markup:
    """Return the shape of a verdict."""
    return Markup(verdict_mark(status, "currentColor"))


def _lines(plan: Plan) -> tuple[LineView, ...]:
    ranks = {one.request: one.rank for one in plan.chosen}
    order = sorted(ranks, key=lambda request: (list(Rank).index(ranks[request]), request))
    return tuple(
        LineView(request, ranks[request], tuple(one for one in plan.chosen if one.request == request))
        for request in order
    )


def _left(left: LeftOut) -> LeftView:
    return LeftView(left, tuple((group[0], len(group)) for group in reasons_by_code(left)))


def pack_words(box: Box) -> str:
    """Return the packs of a box in words."""
    kinds = Counter(pack.kind.replace("_", " ") for pack in box.packs)
    return ", ".join(f"{count} × {kind}" for kind, count in kinds.items())

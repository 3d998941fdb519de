"""What a new plan changed against the one before it."""

from dataclasses import dataclass

from ramet.domain.words import Rank, Status
from ramet.formats.plan import Plan


@dataclass(frozen=True, slots=True)
class PlanChanges:
    """Verdict, thinnest margin [h] and billed mass [kg], before and now, and the pieces that changed."""

    status: tuple[Status, Status]
    margin_h: tuple[float | None, float | None]
    billed_kg: tuple[float, float]
    pieces: tuple[int, int]
    musts_short: tuple[int, int]
    come: tuple[str, ...]
    stay: tuple[str, ...]

    @property
    def nothing(self) -> bool:
        """Tell whether the plans are alike in all of this."""
        pairs = (self.status, self.margin_h, self.billed_kg, self.musts_short)
        return not self.come and not self.stay and all(before == now for before, now in pairs)


def plan_changes(before: Plan, now: Plan) -> PlanChanges:
    """Hold a plan against the one before it."""
    earlier = {one.piece for one in before.chosen}
    later = {one.piece for one in now.chosen}
    return PlanChanges(
        status=(before.status, now.status),
        margin_h=(_thinnest(before), _thinnest(now)),
        billed_kg=(_billed(before), _billed(now)),
        pieces=(len(earlier), len(later)),
        musts_short=(_musts_short(before), _musts_short(now)),
        come=tuple(sorted(later - earlier)),
        stay=tuple(sorted(earlier - later)),
    )


def _thinnest(plan: Plan) -> float | None:
    return min((bag.margin_h for bag in plan.forecast.bags), default=None)


def _billed(plan: Plan) -> float:
    return sum(box.billed_kg for box in plan.boxes if box.bags)


def _musts_short(plan: Plan) -> int:
    return sum(left.wanted - left.sent for left in plan.left_out if left.rank is Rank.MUST)

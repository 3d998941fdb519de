"""Which corals a tank can take now, and which in later weeks, each with the number that decides."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import timedelta

from ramet.domain.band import Band
from ramet.domain.words import Tolerance
from ramet.formats.receiving import Tank
from ramet.formats.shipment import Goods
from ramet.formats.tank_report import Stage
from ramet.reference.tables import Reference
from ramet.science.biofilter import chance_enough
from ramet.science.spread import total
from ramet.science.tank import dkh
from ramet.services.receiving.ammonia_load import WANTED_CHANCE, capacity_g_d, die_off_g_d, food_g_d
from ramet.services.receiving.arriving import ArrivingPiece, Visit
from ramet.services.receiving.demand import background_ueq_d, demand_ueq_d
from ramet.services.receiving.supply import supply_ueq_d

WEEKS = (0, 3, 6, 12)
_UEQ_PER_MEQ = 1000.0


def staging(
    reference: Reference, tank: Tank, goods: Sequence[Goods], pieces: Sequence[ArrivingPiece], visit: Visit
) -> tuple[Stage, ...]:
    """Return a staged plan: the first stage is today; a last one without a week never fits as things are.

    The more important and the hardier go first, and of those the ones that take least alkalinity.
    """
    plan = _Plan(reference, tank, goods, visit)
    waiting = sorted(
        pieces, key=lambda one: (one.rank, plan.touchiness(one), plan.use(one, 0).typical, one.piece)
    )
    stages: list[Stage] = []
    why: dict[str, str] = {}
    for week in WEEKS:
        taken: list[ArrivingPiece] = []
        now: dict[str, str] = {}
        for one in waiting:
            reason = plan.refuses(one, week, taken)
            if reason is None:
                taken.append(one)
                plan.settled.append((week, one))
            else:
                now[one.piece] = reason
        waiting = [one for one in waiting if one.piece in now]
        if taken or week == 0:
            stages.append(_stage(visit, week, taken, [why[one.piece] for one in taken if one.piece in why]))
        why = now
        if not waiting:
            return tuple(stages)
    return (*stages, _stage(visit, None, waiting, [why[one.piece] for one in waiting]))


@dataclass(slots=True)
class _Plan:
    """What has settled so far, and what the tank bears besides; demands are worked out once."""

    reference: Reference
    tank: Tank
    goods: Sequence[Goods]
    visit: Visit
    settled: list[tuple[int, ArrivingPiece]] = field(default_factory=list)
    _uses: dict[tuple[ArrivingPiece, int], Band] = field(default_factory=dict)

    def use(self, one: ArrivingPiece, week: int) -> Band:
        """Alkalinity [µeq/d] of a piece so many weeks after it came."""
        alike = replace(one, piece="", bag=None)
        if (alike, week) not in self._uses:
            self._uses[alike, week] = demand_ueq_d(self.reference, self.tank, alike, 7 * week)
        return self._uses[alike, week]

    def touchiness(self, one: ArrivingPiece) -> int:
        """0 for hardy genera, 2 for sensitive ones."""
        genus = self.reference.genus(one.taxon)
        tolerance = Tolerance.ORDINARY if genus is None else genus.tolerance
        return [Tolerance.HARDY, Tolerance.ORDINARY, Tolerance.SENSITIVE].index(tolerance)

    def refuses(self, one: ArrivingPiece, week: int, with_it: Sequence[ArrivingPiece]) -> str | None:
        """Return why a piece can't come in that week, or None."""
        rules: tuple[Callable[[ArrivingPiece, int, Sequence[ArrivingPiece]], str | None], ...] = (
            self._too_young,
            self._too_many,
            self._too_little_alkalinity,
            self._too_little_filter,
        )
        return next((reason for rule in rules if (reason := rule(one, week, with_it))), None)

    def _too_young(self, one: ArrivingPiece, week: int, _: Sequence[ArrivingPiece]) -> str | None:
        limit = self.reference.parameter("young_tank_weeks").band.typical
        age = self.tank.age_weeks + week
        if self.touchiness(one) < 2 or age >= limit:
            return None
        genus = one.taxon.split()[0]
        return f"{genus} waits for a tank of {limit:g} weeks; this one would be {age:g}"

    def _too_many(self, _: ArrivingPiece, week: int, with_it: Sequence[ArrivingPiece]) -> str | None:
        many = self.reference.parameter("first_day_corals").band.typical
        young = self.tank.age_weeks + week < self.reference.parameter("young_tank_weeks").band.typical
        if not young or len(with_it) < many:
            return None
        return f"more than {many:.0f} corals at once are many for a young tank"

    def _too_little_alkalinity(
        self, one: ArrivingPiece, week: int, with_it: Sequence[ArrivingPiece]
    ) -> str | None:
        most = supply_ueq_d(self.reference, self.tank)
        if most <= 0:
            return None
        grown = sum(self.use(other, week - since).typical for since, other in self.settled if since < week)
        fresh = sum(self.use(other, 0).typical for other in (*with_it, one))
        used = grown + fresh + background_ueq_d(self.reference, self.tank).typical
        if used <= most:
            return None
        taken, given = (dkh(value / _UEQ_PER_MEQ, self.tank.volume_l) for value in (used, most))
        return f"alkalinity: {taken:.2f} dKH a day would be used in week {week}, {given:.2f} can be added"

    def _too_little_filter(
        self, one: ArrivingPiece, week: int, with_it: Sequence[ArrivingPiece]
    ) -> str | None:
        if not self.tank.media and not any(good.kind == "matured_media" for good in self.goods):
            return None
        older = [media.model_copy(update={"age_weeks": media.age_weeks + week}) for media in self.tank.media]
        ripened = self.tank.model_copy(update={"media": tuple(older)})
        capacity = capacity_g_d(self.reference, ripened, self.goods, self.visit.journey_h)
        dying = total(die_off_g_d(self.reference, other) for other in (*with_it, one))
        chance = chance_enough(capacity, food_g_d(self.reference, self.tank) + dying)
        if chance >= WANTED_CHANCE:
            return None
        return f"biofilter: enough with a chance of {chance:.0%} in week {week}, {WANTED_CHANCE:.0%} wanted"


def _stage(visit: Visit, week: int | None, pieces: Sequence[ArrivingPiece], reasons: Sequence[str]) -> Stage:
    on = None if visit.arrives is None or week is None else visit.arrives + timedelta(weeks=week)
    said = list(dict.fromkeys(reasons))
    if week == 0:
        words = "the tank can take these on day one" if pieces else "the tank can take none on day one"
    elif week is None:
        words = f"not within {WEEKS[-1]} weeks as things are: " + "; ".join(said)
    else:
        words = "not earlier: " + "; ".join(said)
    return Stage(week=week, on=on, pieces=tuple(one.piece for one in pieces), reason=words)

"""What the tank's own means can put back per day, what to dose, and when growth outruns it."""

from collections.abc import Callable, Mapping, Sequence

from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Balance, DoseOnDay, Supply
from ramet.reference.tables import Reference
from ramet.science.salts import dose_ml
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.demand import REPORT_DAYS, DailyUse, use_on_day
from ramet.services.receiving.means import Means, means_of

HORIZON_D = 365
BALANCE_DAYS = tuple(range(0, 181, 15))
_KINDS = ("alkalinity_meq", "calcium_mg", "magnesium_mg")


def supply_ueq_d(reference: Reference, tank: Tank) -> int:
    """Alkalinity [µeq/d] that all means of a tank can add together, rounded down; never below 0."""
    return max(0, int(1000 * all_means(reference, tank, "alkalinity_meq")))


def all_means(reference: Reference, tank: Tank, kind: str) -> float:
    """What all means together can add of a kind per day."""
    return sum(float(getattr(one.most, kind)) for one in means_of(reference, tank))


def supply_table(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> tuple[Supply, ...]:
    """Return every means with what it can add, the doses over time, and when all is outgrown."""
    means = means_of(reference, tank)
    uses = {day: use_on_day(reference, tank, pieces, day) for day in REPORT_DAYS}
    outgrown = {
        kind: outgrown_on(reference, tank, pieces, kind, sum(getattr(one.most, kind) for one in means))
        for kind in _KINDS
        if means
    }
    return tuple(_row(tank, one, means, uses, outgrown) for one in means)


def balance(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> Balance:
    """Return the alkalinity taken over half a year, every fortnight or so, against what can be added."""
    per_dkh = MEQ_L_PER_DKH * tank.volume_l
    uses = [use_on_day(reference, tank, pieces, day).alkalinity_meq for day in BALANCE_DAYS]
    bands = [use.scaled(1 / per_dkh) for use in uses]
    return Balance(
        days=BALANCE_DAYS,
        low=tuple(round(one.low, 4) for one in bands),
        typical=tuple(round(one.typical, 4) for one in bands),
        high=tuple(round(one.high, 4) for one in bands),
        supply_dkh_d=round(all_means(reference, tank, "alkalinity_meq") / per_dkh, 4),
    )


def outgrown_on(
    reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece], kind: str, most: float
) -> int | None:
    """Return the first day on which the expected demand exceeds the supply; None within a year's time."""

    def short(day: int) -> bool:
        return float(getattr(use_on_day(reference, tank, pieces, day), kind).typical) > most

    return _first_day(short)


def doses_ml_d(means: Sequence[Means], use: DailyUse) -> dict[str, float]:
    """Return the daily dose of everything that is dosed, for a day's use.

    Limewater first, as far as reactor and water changes leave alkalinity open; then the stocks of each kind
    share what is left of that kind by what they can give.
    """
    left = {
        kind: getattr(use, kind).typical
        - sum(getattr(one.most, kind) for one in means if one.strength is None)
        for kind in _KINDS
    }
    doses: dict[str, float] = {}
    for one in means:
        if one.strength is not None and one.stock is None:
            doses[one.name] = _share(one, left[one.kind], one.most_ml)
            left["alkalinity_meq"] -= doses[one.name] / 1000 * one.strength.alkalinity_meq_l
            left["calcium_mg"] -= doses[one.name] / 1000 * one.strength.calcium_mg_l
    for one in means:
        if one.stock is not None:
            alike = [other for other in means if other.stock is not None and other.kind == one.kind]
            most = sum(getattr(other.most, one.kind) for other in alike)
            part = getattr(one.most, one.kind) / most if most > 0 else 0.0
            doses[one.name] = _share(one, left[one.kind] * part, one.most_ml)
    return doses


def _share(one: Means, needed: float, most_ml: float) -> float:
    return min(most_ml, dose_ml(max(0.0, needed), one.per_litre)) if one.per_litre > 0 else 0.0


def _first_day(short: Callable[[int], bool]) -> int | None:
    """Demand only rises (growth, light, recovery), so the first day is found by halving."""
    if short(0):
        return 0
    if not short(HORIZON_D):
        return None
    low, high = 0, HORIZON_D
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if short(middle) else (middle, high)
    return high


def _row(
    tank: Tank,
    one: Means,
    means: Sequence[Means],
    uses: Mapping[int, DailyUse],
    outgrown: Mapping[str, int | None],
) -> Supply:
    dosed = one.strength is not None
    doses = {day: _shown(doses_ml_d(means, use)[one.name]) for day, use in uses.items()} if dosed else {}
    return Supply(
        means=one.name,
        alkalinity_dkh_d=round(one.most.alkalinity_meq / (MEQ_L_PER_DKH * tank.volume_l), 4),
        calcium_mg_l_d=round(one.most.calcium_mg / tank.volume_l, 4),
        magnesium_mg_l_d=round(one.most.magnesium_mg / tank.volume_l, 4),
        dose_ml_d=doses.get(REPORT_DAYS[0]),
        doses=tuple(DoseOnDay(day=day, ml_d=ml) for day, ml in doses.items()),
        doses_a_day=one.stock.doses_a_day if one.stock is not None else None,
        outgrown_on_day=outgrown[one.kind],
        note=one.note,
    )


def _shown(ml: float) -> float:
    """Three figures and no less than a tenth of a millilitre: nobody doses finer."""
    return float(f"{round(ml, 1):.3g}")

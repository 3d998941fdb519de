"""What the tank's own means can put back per day, what to dose, and when growth outruns it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.formats.plan import Supply
from ramet.formats.shipment import Dosing, Tank
from ramet.reference.tables import Reference
from ramet.science.salts import dose_ml
from ramet.science.tank import after_change, calcium_mg, changes_per_day, limewater_meq_d
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.demand import DailyUse, use_on_day

HORIZON_D = 365


@dataclass(frozen=True, slots=True)
class Amounts:
    """Alkalinity [meq/d], calcium and magnesium [mg/d] that a means can add."""

    alkalinity_meq: float
    calcium_mg: float
    magnesium_mg: float


@dataclass(frozen=True, slots=True)
class Means:
    """One means of supply. A stock that is dosed can be throttled; the others run as they run."""

    name: str
    most: Amounts
    stock: Dosing | None = None
    note: str = ""


def means_of(reference: Reference, tank: Tank) -> tuple[Means, ...]:
    """List the means of a tank: limewater, water changes, dosed stocks."""
    return (*_limewater(reference, tank), *_water_change(tank), *(_dosed(stock) for stock in tank.dosing))


def supply_ueq_d(reference: Reference, tank: Tank) -> int:
    """Alkalinity [µeq/d] that all means of a tank can add together, rounded down; never below 0."""
    return max(0, int(1000 * sum(one.most.alkalinity_meq for one in means_of(reference, tank))))


def supply_table(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> tuple[Supply, ...]:
    """Return every means with what it can add, the dose for the first day, and when all is outgrown."""
    means = means_of(reference, tank)
    first_day = use_on_day(reference, tank, pieces, 0)
    outgrown = {
        kind: outgrown_on(reference, tank, pieces, kind, sum(getattr(one.most, kind) for one in means))
        for kind in ("alkalinity_meq", "calcium_mg", "magnesium_mg")
    }
    return tuple(_row(tank, one, means, first_day, outgrown) for one in means)


def outgrown_on(
    reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece], kind: str, most: float
) -> int | None:
    """Return the first day on which the expected demand exceeds the supply; None within a year's time."""

    def short(day: int) -> bool:
        return float(getattr(use_on_day(reference, tank, pieces, day), kind).typical) > most

    return _first_day(short)


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


def _limewater(reference: Reference, tank: Tank) -> tuple[Means, ...]:
    if not tank.limewater or tank.evaporation_share_d <= 0:
        return ()
    strength = reference.parameter("limewater_alkalinity_meq_l").band.typical
    alkalinity = limewater_meq_d(tank.volume_l, tank.evaporation_share_d, strength)
    note = (
        f"{tank.volume_l * tank.evaporation_share_d:.1f} L a day, the evaporated water, saturated; "
        "caustic: add it slowly, at night, and keep it off skin and eyes; adds no magnesium"
    )
    return (Means("limewater", Amounts(alkalinity, calcium_mg(alkalinity), 0.0), note=note),)


def _water_change(tank: Tank) -> tuple[Means, ...]:
    change = tank.water_change
    if change is None:
        return ()

    def a_day(fresh: float, kept_at: float) -> float:
        return changes_per_day(fresh, kept_at, change.share, change.every_d) * tank.volume_l

    added = Amounts(
        a_day(change.alkalinity_dkh, tank.alkalinity_dkh) * MEQ_L_PER_DKH,
        a_day(change.calcium_mg_l, tank.calcium_mg_l),
        a_day(change.magnesium_mg_l, tank.magnesium_mg_l),
    )
    jump = after_change(tank.alkalinity_dkh, change.alkalinity_dkh, change.share) - tank.alkalinity_dkh
    note = f"{change.share:.0%} every {change.every_d:g} d; each change shifts alkalinity by {jump:+.2f} dKH"
    return (Means("water changes", added, note=note),)


def _dosed(stock: Dosing) -> Means:
    litres = stock.most_ml_d / 1000
    most = Amounts(
        stock.alkalinity_meq_l * litres, stock.calcium_mg_l * litres, stock.magnesium_mg_l * litres
    )
    return Means(stock.name, most, stock, f"at most {stock.most_ml_d:g} mL a day")


def _row(
    tank: Tank, one: Means, means: Sequence[Means], use: DailyUse, outgrown: dict[str, int | None]
) -> Supply:
    kind = _main_kind(one)
    return Supply(
        means=one.name,
        alkalinity_dkh_d=round(one.most.alkalinity_meq / (MEQ_L_PER_DKH * tank.volume_l), 4),
        calcium_mg_l_d=round(one.most.calcium_mg / tank.volume_l, 4),
        magnesium_mg_l_d=round(one.most.magnesium_mg / tank.volume_l, 4),
        dose_ml_d=None if one.stock is None else round(_dose(one, kind, means, use), 1),
        outgrown_on_day=outgrown[kind],
        note=one.note,
    )


def _main_kind(one: Means) -> str:
    """What a means is for: alkalinity, unless a stock holds none."""
    if one.stock is None or one.stock.alkalinity_meq_l > 0:
        return "alkalinity_meq"
    return "calcium_mg" if one.stock.calcium_mg_l > 0 else "magnesium_mg"


def _dose(one: Means, kind: str, means: Sequence[Means], use: DailyUse) -> float:
    """Return the first day's dose: what limewater and changes leave open, shared by the stocks for it."""
    assert one.stock is not None
    steady = sum(getattr(other.most, kind) for other in means if other.stock is None)
    alike = [other for other in means if other.stock is not None and _main_kind(other) == kind]
    most = sum(getattr(other.most, kind) for other in alike)
    if most <= 0:
        return 0.0
    needed = max(0.0, getattr(use, kind).typical - steady) * getattr(one.most, kind) / most
    strength = {
        "alkalinity_meq": one.stock.alkalinity_meq_l,
        "calcium_mg": one.stock.calcium_mg_l,
        "magnesium_mg": one.stock.magnesium_mg_l,
    }[kind]
    return min(one.stock.most_ml_d, dose_ml(needed, strength))

"""From the water as tested to the water wanted, no faster than corals bear."""

import math
from collections.abc import Iterator, Sequence
from typing import Literal

from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Correction
from ramet.reference.tables import Reference
from ramet.science.dosing import Carrier, ph_after_addition
from ramet.science.salts import bicarbonate_g, calcium_chloride_g, dose_ml
from ramet.science.tank import correction_days, meq
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.demand import use_on_day
from ramet.services.receiving.means import Means, means_of
from ramet.services.receiving.supply import doses_ml_d

Mineral = Literal["calcium", "magnesium"]
_CLOSE = {"alkalinity": 0.1, "calcium": 5.0, "magnesium": 20.0}
"""Differences that a test kit can't tell from nothing: they call for no correction."""


def corrections(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> tuple[Correction, ...]:
    """Return what has to be brought to its target, with the amount a day on top of the daily dose."""
    means = means_of(reference, tank)
    doses = doses_ml_d(means, use_on_day(reference, tank, pieces, 0))
    spare = {one.name: one.most_ml - doses[one.name] for one in means if one.stock is not None}
    return tuple(_all(reference, tank, means, spare))


def _all(
    reference: Reference, tank: Tank, means: Sequence[Means], spare: dict[str, float]
) -> Iterator[Correction]:
    target = tank.target
    if _apart("alkalinity", tank.alkalinity_dkh, target.alkalinity_dkh):
        yield _alkalinity(reference, tank, means, spare)
    minerals: tuple[Mineral, ...] = ("calcium", "magnesium")
    for what in minerals:
        wanted = getattr(target, f"{what}_mg_l")
        if _apart(what, getattr(tank, f"{what}_mg_l"), wanted):
            yield _mineral(reference, tank, what, means, spare)


def _apart(what: str, now: float, target: float | None) -> bool:
    return target is not None and abs(target - now) > _CLOSE[what]


def _alkalinity(
    reference: Reference, tank: Tank, means: Sequence[Means], spare: dict[str, float]
) -> Correction:
    assert tank.target.alkalinity_dkh is not None
    now, target = tank.alkalinity_dkh, tank.target.alkalinity_dkh
    days = correction_days(
        target - now,
        reference.parameter("correction_dkh_d").band.typical,
        reference.parameter("correction_first_week_dkh_d").band.typical,
    )
    gap_meq = meq(abs(target - now), tank.volume_l)
    if target < now:
        note = "leave the dosing off until it has fallen; never lower it with acid"
        return _row("alkalinity", "dKH", now, target, days, note=note)
    stock = _stock(means, "alkalinity_meq", spare)
    if stock is None:
        grams = bicarbonate_g(gap_meq / days)
        note = "dissolved in fresh water, in small parts over the day; half of it before the lights"
        return _row("alkalinity", "dKH", now, target, days, "baking soda", grams, "g", note)
    days = max(days, math.ceil(gap_meq / (spare[stock.name] / 1000 * stock.per_litre) - 1e-9))
    note = _ph_words(reference, tank, stock, gap_meq / days)
    ml = dose_ml(gap_meq / days, stock.per_litre)
    return _row("alkalinity", "dKH", now, target, days, stock.name, ml, "mL", note)


def _mineral(
    reference: Reference, tank: Tank, what: Mineral, means: Sequence[Means], spare: dict[str, float]
) -> Correction:
    now, target = getattr(tank, f"{what}_mg_l"), getattr(tank.target, f"{what}_mg_l")
    per_day = reference.parameter(f"{what}_correction_mg_l_d").band.typical
    days = max(1, math.ceil(abs(target - now) / per_day - 1e-9))
    if target < now:
        return _row(what, "mg/L", now, target, days, note="water changes lower it; stop adding it")
    gap_mg = (target - now) * tank.volume_l
    stock = _stock(means, f"{what}_mg", spare)
    if stock is not None:
        days = max(days, math.ceil(gap_mg / (spare[stock.name] / 1000 * stock.per_litre) - 1e-9))
        ml = dose_ml(gap_mg / days, stock.per_litre)
        return _row(what, "mg/L", now, target, days, stock.name, ml, "mL")
    if what == "calcium":
        salt = "calcium chloride dihydrate"
        return _row(what, "mg/L", now, target, days, salt, calcium_chloride_g(gap_mg / days), "g")
    return _row(what, "mg/L", now, target, days, note="no stock for it is named")


def _stock(means: Sequence[Means], kind: str, spare: dict[str, float]) -> Means | None:
    """Return the stock of a kind whose pump has most to spare."""
    able = [one for one in means if one.stock is not None and one.kind == kind and spare[one.name] > 0]
    return max(able, key=lambda one: spare[one.name] * one.per_litre, default=None)


def _ph_words(reference: Reference, tank: Tank, stock: Means, meq_d: float) -> str:
    """Say what the day's amount would do to pH if it went in at once."""
    assert stock.stock is not None
    carrier: Carrier = "bicarbonate" if "sodium_bicarbonate" in stock.stock.grams_per_l else "carbonate"
    before = reference.parameter("start_ph").band.typical
    after = ph_after_addition(
        before,
        tank.alkalinity_dkh * MEQ_L_PER_DKH,
        meq_d / tank.volume_l,
        carrier,
        tank.temperature_c,
        tank.salinity,
    )
    return (
        f"in small parts over the day: all at once, as {carrier}, it would move pH from {before:.2f} "
        f"to {after:.2f}"
    )


def _row(
    what: Literal["alkalinity", "calcium", "magnesium"],
    unit: str,
    now: float,
    target: float,
    days: int,
    with_means: str = "",
    amount: float | None = None,
    amount_unit: str = "",
    note: str = "",
) -> Correction:
    return Correction(
        what=what,
        unit=unit,
        now=now,
        target=target,
        per_day=round((target - now) / days, 3),
        days=days,
        with_means=with_means,
        amount_d=None if amount is None else round(amount, 1),
        amount_unit=amount_unit,
        note=note,
    )

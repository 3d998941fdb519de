"""What corals take from the tank per day, now and as they grow."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ramet.domain.band import Band, exactly
from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.formats.receiving import Tank
from ramet.formats.tank_report import BandValue, Demand
from ramet.reference.tables import Reference
from ramet.science.areas import areas_of_form
from ramet.science.biofilter import ammonia_from_food_g_d
from ramet.science.growth import grown
from ramet.science.light import light_on_day
from ramet.science.spread import product, total
from ramet.science.tank import (
    calcification_ueq_d,
    calcium_mg,
    full_rate_days,
    light_factor,
    newly_moved_share,
    nitrate_meq_d,
)
from ramet.services.growing.piece_areas import form_factors
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.lighting import lighting

REPORT_DAYS = (0, 30, 90, 180)


@dataclass(frozen=True, slots=True)
class DailyUse:
    """Alkalinity [meq/d], calcium and magnesium [mg/d] taken on one day by corals and tank."""

    alkalinity_meq: Band
    calcium_mg: Band
    magnesium_mg: Band


def demand_ueq_d(reference: Reference, tank: Tank, piece: ArrivingPiece, day: float = 0.0) -> Band:
    """Alkalinity [µeq/d] that one piece takes so many days after it arrived, growth and light included."""
    return calcification_ueq_d(
        _contour(reference, piece, day),
        reference.trait(piece.taxon, piece.form, "calcification_meq_cm2_d").band,
        _light(reference, tank, piece, day),
        _moved(reference, day),
    )


def background_ueq_d(reference: Reference, tank: Tank) -> Band:
    """Alkalinity [µeq/d] that the tank takes without any new coral: coralline, precipitation, nitrate."""
    coralline = reference.parameter("background_alkalinity_dkh_d").band
    per_meq = reference.parameter("ammonia_per_protein").band.typical
    nitrogen_g_d = ammonia_from_food_g_d(tank.food_g_d, tank.food_protein_share, per_meq)
    left = reference.parameter("nitrate_left_share").band
    return coralline.scaled(MEQ_L_PER_DKH * tank.volume_l * 1000) + left.scaled(
        nitrate_meq_d(nitrogen_g_d) * 1000
    )


def use_on_day(reference: Reference, tank: Tank, pieces: Iterable[ArrivingPiece], day: float) -> DailyUse:
    """Add up what all pieces and the tank itself take on a day."""
    corals = total(demand_ueq_d(reference, tank, piece, day) for piece in pieces).scaled(1e-3)
    calcium = corals.scaled(calcium_mg(1.0))
    return DailyUse(
        alkalinity_meq=corals + background_ueq_d(reference, tank).scaled(1e-3),
        calcium_mg=calcium,
        magnesium_mg=product(calcium, reference.parameter("magnesium_per_calcium").band),
    )


def demand_table(
    reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece], days: Sequence[int] = REPORT_DAYS
) -> tuple[Demand, ...]:
    """Return the demand on the days of the report, as change of the tank's water per day."""
    return tuple(_demand(tank, day, use_on_day(reference, tank, pieces, day)) for day in days)


def _demand(tank: Tank, day: int, use: DailyUse) -> Demand:
    alkalinity = use.alkalinity_meq.scaled(1 / (MEQ_L_PER_DKH * tank.volume_l))
    origin = "contour area × rate of the genus × light × newly moved factor, with growth"
    return Demand(
        day=day,
        alkalinity=_shown(alkalinity, "dKH/d", origin + ", and the tank's own use"),
        calcium=_shown(use.calcium_mg.scaled(1 / tank.volume_l), "mg/L/d", origin),
        magnesium=_shown(use.magnesium_mg.scaled(1 / tank.volume_l), "mg/L/d", origin + ", share of calcium"),
    )


def _shown(band: Band, unit: str, origin: str) -> BandValue:
    low, typical, high = (float(f"{value:.4g}") for value in (band.low, band.typical, band.high))
    return BandValue(low=low, typical=typical, high=high, unit=unit, origin=origin)


def _contour(reference: Reference, piece: ArrivingPiece, day: float) -> Band:
    """Contour area after growth; the spread of the growth rate joins that of the form."""
    now = _contour_grown(reference, piece, day, "typical")
    if day <= 0 or now.typical <= 0:
        return now
    slow = _contour_grown(reference, piece, day, "low").typical / now.typical
    fast = _contour_grown(reference, piece, day, "high").typical / now.typical
    return product(now, Band(min(slow, 1.0), 1.0, max(fast, 1.0)))


def _contour_grown(reference: Reference, piece: ArrivingPiece, day: float, pace: str) -> Band:
    moved = reference.parameter("newly_moved_factor").band.typical
    lasts = reference.parameter("newly_moved_d").band.typical
    doubling = reference.parameters.get(f"doubling_d_{piece.form.value}")
    other = {"low": "high", "typical": "typical", "high": "low"}[pace]
    size = grown(
        piece.form,
        piece.size,
        extension_cm_yr=getattr(reference.trait(piece.taxon, piece.form, "extension_cm_yr").band, pace),
        growing_d=full_rate_days(day, moved, lasts),
        doubling_d=float("inf") if doubling is None else getattr(doubling.band, other),
        most=reference.parameter("growth_multiple_most").band.typical,
    )
    return areas_of_form(piece.form, size, form_factors(reference, piece.taxon, piece.form)).contour_cm2


def _light(reference: Reference, tank: Tank, piece: ArrivingPiece, day: float) -> Band:
    lit = lighting(reference, tank, piece)
    par = light_on_day(lit.plan, day)
    dark = reference.parameter("dark_calcification_share").band
    knee = reference.parameter("light_saturation_share").band
    values = [
        light_factor(par, lit.usable.typical, tank.photoperiod_h, one, other)
        for one in (dark.low, dark.typical, dark.high)
        for other in (knee.low, knee.typical, knee.high)
    ]
    return Band(min(values), values[4], max(values))


def _moved(reference: Reference, day: float) -> Band:
    factor = reference.parameter("newly_moved_factor").band
    lasts = reference.parameter("newly_moved_d").band
    if day >= 2 * lasts.high:
        return exactly(1.0)
    return Band(
        newly_moved_share(day, factor.low, lasts.high),
        newly_moved_share(day, factor.typical, lasts.typical),
        newly_moved_share(day, factor.high, lasts.low),
    )

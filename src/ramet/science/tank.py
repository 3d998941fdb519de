"""What corals take out of a tank per day and what its means put back: alkalinity, calcium, magnesium.

One mole of calcium carbonate laid down takes one mole of calcium and two equivalents of alkalinity.
"""

import math

from ramet.domain.band import Band
from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.science.spread import product

CALCIUM_G_MOL = 40.078
CALCIUM_CARBONATE_G_MOL = 100.087
NITROGEN_G_MOL = 14.0067
EQUIVALENTS_PER_MOL_CARBONATE = 2
USUAL_PHOTOPERIOD_H = 12.0


def calcium_mg(alkalinity_meq: float) -> float:
    """Calcium laid down [mg] with so much alkalinity [meq] as calcium carbonate: 20.04 mg a meq."""
    return alkalinity_meq * CALCIUM_G_MOL / EQUIVALENTS_PER_MOL_CARBONATE


def carbonate_g(alkalinity_meq: float) -> float:
    """Calcium carbonate laid down [g] with so much alkalinity [meq]."""
    return alkalinity_meq * CALCIUM_CARBONATE_G_MOL / EQUIVALENTS_PER_MOL_CARBONATE / 1000


def dkh(alkalinity_meq: float, volume_l: float) -> float:
    """Change of alkalinity [dKH] when so many meq enter or leave so many litres."""
    return alkalinity_meq / volume_l / MEQ_L_PER_DKH


def meq(alkalinity_dkh: float, volume_l: float) -> float:
    """Alkalinity [meq] behind a change of so many dKH in so many litres."""
    return alkalinity_dkh * MEQ_L_PER_DKH * volume_l


def light_factor(
    par: float, usual_par: float, photoperiod_h: float, dark_share: float, saturation_share: float
) -> float:
    """Daily calcification against that of a coral under its usual light for 12 h.

    Parameters
    ----------
    par, usual_par : light here, and the middle of the range of the genus [µmol/m²/s].
    photoperiod_h : hours of light a day.
    dark_share : calcification in the dark over that in saturating light.
    saturation_share : light at the knee of the curve over `usual_par`.

    References
    ----------
    Curve: Jassby & Platt 1976, Limnol. Oceanogr. 21:540-547 (hyperbolic tangent, there for photosynthesis);
    for light-enhanced calcification Chalker 1981, J. Exp. Mar. Biol. Ecol. (from memory).
    """

    def a_day(light: float, hours: float) -> float:
        lit = dark_share + (1 - dark_share) * math.tanh(light / (saturation_share * usual_par))
        return hours * lit + (24 - hours) * dark_share

    return a_day(par, photoperiod_h) / a_day(usual_par, USUAL_PHOTOPERIOD_H)


def newly_moved_share(day: float, factor: float, lasts_d: float) -> float:
    """Share of its full rate at which a moved coral calcifies: `factor`, then a rise over as long again."""
    if day <= lasts_d:
        return factor
    return min(1.0, factor + (1 - factor) * (day - lasts_d) / lasts_d)


def full_rate_days(day: float, factor: float, lasts_d: float) -> float:
    """Days at the full rate that equal the days since the move: the integral of `newly_moved_share`."""
    slow = factor * min(day, lasts_d)
    rising = min(max(day - lasts_d, 0.0), lasts_d)
    slow += rising * (factor + (1 - factor) * rising / lasts_d / 2)
    return slow + max(day - 2 * lasts_d, 0.0)


def calcification_ueq_d(contour_cm2: Band, rate_meq_cm2_d: Band, light: Band, moved: Band) -> Band:
    """Alkalinity that one piece takes [µeq/d]; the four factors err independently."""
    return product(contour_cm2, rate_meq_cm2_d, light, moved).scaled(1000.0)


def nitrate_meq_d(nitrogen_g_d: float) -> float:
    """Alkalinity lost [meq/d] to nitrogen that ends as nitrate: one equivalent a mole."""
    return nitrogen_g_d / NITROGEN_G_MOL * 1000


def limewater_meq_d(volume_l: float, evaporation_share_d: float, strength_meq_l: float) -> float:
    """Alkalinity [meq/d] when all evaporated water is replaced by limewater."""
    return volume_l * evaporation_share_d * strength_meq_l


def reactor_per_day(outflow: float, kept_at: float, flow_ml_min: float) -> float:
    """What a reactor adds per day [unit of the outflow, times litres]: tank water that comes back richer."""
    return (outflow - kept_at) * flow_ml_min * 1440 / 1000


def after_change(before: float, fresh: float, share: float) -> float:
    """Concentration after one water change of `share` with water at `fresh` (same unit)."""
    return before + share * (fresh - before)


def steady_after_changes(fresh: float, loss_per_interval: float, share: float) -> float:
    """Concentration just after a change, once changes of `share` and a steady loss have settled."""
    return fresh - loss_per_interval * (1 - share) / share


def changes_per_day(fresh: float, kept_at: float, share: float, every_d: float) -> float:
    """Average supply per day [same unit per day] of regular changes to a tank kept at `kept_at`.

    Negative when the fresh water is poorer than the tank.
    """
    return share * (fresh - kept_at) / every_d


def correction_days(gap_dkh: float, most_dkh_d: float, first_week_dkh_d: float) -> int:
    """Days over which to close a gap in alkalinity, slower in the first week."""
    gap = abs(gap_dkh)
    first_week = 7 * first_week_dkh_d
    if gap <= first_week:
        return math.ceil(gap / first_week_dkh_d - 1e-9)
    return 7 + math.ceil((gap - first_week) / most_dkh_d - 1e-9)

"""Ammonia that enters a tank against what its biofilter can turn into nitrate. Nitrogen in grams per day."""

import math

from ramet.domain.band import Band
from ramet.science.spread import product

REFERENCE_TEMPERATURE_C = 24.0
NITROGEN_G_MOL = 14.007
NITRATE_G_MOL = 62.005
AMMONIUM_CHLORIDE_G_MOL = 53.491
_TWO_SIDED_90 = 1.6449
"""A band is read as the middle 90 % of a log-normal: its ends lie this many standard deviations out."""


def ammonia_from_food_g_d(food_g_d: float, protein_share: float, nitrogen_per_protein: float) -> float:
    """Total ammonia nitrogen [g/d] from food.

    References
    ----------
    Timmons & Ebeling 2007, Recirculating Aquaculture: feed × protein × 0.092 (from memory).
    """
    return food_g_d * protein_share * nitrogen_per_protein


def ammonia_from_die_off(tissue_cm2: Band, nitrogen_g_cm2: Band, lost: Band, days: float) -> Band:
    """Nitrogen set free [g/d] while a lost share of newly arrived tissue breaks down over some days."""
    return product(tissue_cm2, nitrogen_g_cm2, lost).scaled(1 / days)


def maturity(age_weeks: float, mature_weeks: float) -> float:
    """Share of its full rate that media of an age reach: a straight rise to maturity."""
    return min(1.0, age_weeks / mature_weeks)


def temperature_factor(temperature_c: float, theta: float) -> float:
    """Nitrification rate over that at 24 °C: theta per °C; meant for 18 to 30 °C."""
    return float(theta ** (temperature_c - REFERENCE_TEMPERATURE_C))


def media_area_m2(load_g_d: float, rate_g_m2_d: float) -> float:
    """Media surface [m²] that a load of nitrogen needs at a rate per area."""
    return load_g_d / rate_g_m2_d


def alive_after_journey(hours: float, halving_h: Band) -> Band:
    """Share of a nitrifying film still active after so many hours damp in a bag: half each `halving_h`."""
    return Band(*(0.5 ** (hours / one) for one in (halving_h.low, halving_h.typical, halving_h.high)))


def ammonium_chloride_g(nitrogen_mg_l: float, volume_l: float) -> float:
    """Ammonium chloride [g] that gives a volume so much ammonia nitrogen [mg/L]."""
    return nitrogen_mg_l * volume_l / NITROGEN_G_MOL * AMMONIUM_CHLORIDE_G_MOL / 1000


def nitrate_made_mg_l(nitrogen_mg_l: float) -> float:
    """Nitrate [mg/L as NO3] that so much ammonia nitrogen becomes."""
    return nitrogen_mg_l / NITROGEN_G_MOL * NITRATE_G_MOL


def nitrification_cost_meq_l(nitrogen_mg_l: float) -> float:
    """Alkalinity [meq/L] lost when ammonium salt becomes nitrate: NH4+ + 2 O2 -> NO3- + 2 H+ + H2O."""
    return 2 * nitrogen_mg_l / NITROGEN_G_MOL


def chance_enough(capacity: Band, load: Band) -> float:
    """Chance that a capacity exceeds a load, both read as log-normal from their bands.

    No load needs no capacity (1); a load without capacity can't be met (0).
    """
    if load.typical <= 0:
        return 1.0
    if capacity.typical <= 0:
        return 0.0
    variance = _log_variance(capacity) + _log_variance(load)
    ahead = math.log(capacity.typical / load.typical)
    if variance == 0:
        return 1.0 if ahead >= 0 else 0.0
    return 0.5 * (1 + math.erf(ahead / math.sqrt(2 * variance)))


def _log_variance(band: Band) -> float:
    low = max(band.low, 1e-6 * band.typical)
    return float((math.log(band.high / low) / (2 * _TWO_SIDED_90)) ** 2)

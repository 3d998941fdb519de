"""How fast each strain grows: the table's rate of its genus and form, corrected by the grower's readings."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.domain.words import Form
from ramet.reference.tables import Reference
from ramet.science.growth import DAYS_A_YEAR, DOUBLING, Laws, laws_of
from ramet.science.growth_rate import LogNormalRate, doubling_rate_d, log_rate, rate_of_band, updated_groups
from ramet.services.growing.stock_arrays import StockArrays

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class GrowthLaw:
    """How a taxon grows in a form. The rate is an extension [cm/yr], or a share a day where `doubles`."""

    taxon: str
    form: Form
    rate: LogNormalRate
    doubles: bool
    healing_d: float
    source: str
    is_default: bool


@dataclass(frozen=True, slots=True)
class StrainRates:
    """Rates by group (one strain in one form), and the group of each piece.

    `mu` and `sigma` tell the rate of the strain on the log scale, `piece_sigma` that of one of its pieces;
    `used` is how many pieces were read twice. `laws` and `healing_d` go by kind, as in the stock.
    """

    group: NDArray[np.int64]
    mu: Floats
    sigma: Floats
    piece_sigma: Floats
    used: NDArray[np.int64]
    kind_laws: tuple[GrowthLaw, ...]
    laws: Laws
    healing_d: Floats


@dataclass(frozen=True, slots=True)
class Readings:
    """Pairs of readings that a rate can be taken from: logarithm of the rate, and its error."""

    at: NDArray[np.int64]
    log_rate: Floats
    error: Floats


def growth_law(reference: Reference, taxon: str, form: Form) -> GrowthLaw:
    """Return the law of a taxon in a form, by the reference alone."""
    healing_d = float(np.ceil(reference.trait(taxon, form, "healing_d").band.typical))
    if form in DOUBLING:
        days = reference.parameter(f"doubling_d_{form.value}")
        band = days.band
        rate = rate_of_band(*(doubling_rate_d(each) for each in (band.high, band.typical, band.low)))
        return GrowthLaw(taxon, form, rate, True, healing_d, days.source, True)
    fact = reference.trait(taxon, form, "extension_cm_yr")
    # A form whose table row says that it does not grow at all is held to grow next to nothing.
    low, typical, high = fact.band.low, max(fact.band.typical, 0.01), max(fact.band.high, 0.01)
    return GrowthLaw(
        taxon, form, rate_of_band(low, typical, high), False, healing_d, fact.source, fact.is_default
    )


def strain_rates(stock: StockArrays, reference: Reference) -> StrainRates:
    """Return the rate of every strain in stock."""
    kind_laws = tuple(growth_law(reference, taxon, form) for taxon, form in stock.kinds)
    laws = laws_of([form for _, form in stock.kinds])
    healing_d = np.array([law.healing_d for law in kind_laws])
    keys, first, group = np.unique(
        stock.strain * max(len(kind_laws), 1) + stock.kind, return_index=True, return_inverse=True
    )
    between = reference.parameter("growth_between_pieces").band.typical
    readings = readings_of(stock, laws, healing_d, reference)
    priors = [kind_laws[kind].rate for kind in stock.kind[first]]
    mu, sigma = updated_groups(
        np.array([rate.mu for rate in priors]),
        np.array([rate.sigma for rate in priors]),
        group[readings.at],
        readings.log_rate,
        readings.error,
        between,
    )
    return StrainRates(
        group=group,
        mu=mu,
        sigma=sigma,
        piece_sigma=np.hypot(sigma, between),
        used=np.bincount(group[readings.at], minlength=len(keys)),
        kind_laws=kind_laws,
        laws=laws,
        healing_d=healing_d,
    )


def readings_of(stock: StockArrays, laws: Laws, healing_d: Floats, reference: Reference) -> Readings:
    """Return the rates that pieces showed since their baseline, where enough days of growth lie between."""
    sealed = np.nan_to_num(stock.wounded_on + healing_d[stock.kind], nan=-np.inf)
    grew_d = stock.sized_on - np.maximum(stock.base_on, sealed)
    at = np.flatnonzero(grew_d >= reference.parameter("growth_min_d").band.typical)
    ruler = reference.parameter("ruler_error_mm").band.typical
    length, before, days = stock.sizes.length_mm[at], stock.base_length_mm[at], grew_d[at]
    counted = stock.sizes.heads[at] / stock.base_heads[at]
    by_heads = laws.doubles[stock.kind[at]] & ~np.isnan(counted)
    by_area = laws.doubles[stock.kind[at]] & ~by_heads
    steps = laws.steps[stock.kind[at]]
    change = (length - before) / 10 / steps
    error = ruler * np.sqrt(2) / 10 / steps
    heads = reference.parameter("head_count_error").band.typical
    change = np.where(by_heads, np.log(counted), np.where(by_area, 2 * np.log(length / before), change))
    head_error = heads * np.hypot(1 / stock.sizes.heads[at], 1 / stock.base_heads[at])
    area_error = 2 * ruler * np.hypot(1 / length, 1 / before)
    error = np.where(by_heads, head_error, np.where(by_area, area_error, error))
    time = np.where(laws.doubles[stock.kind[at]], days, days / DAYS_A_YEAR)
    logs, errors = log_rate(change, error, time)
    return Readings(at, logs, errors)

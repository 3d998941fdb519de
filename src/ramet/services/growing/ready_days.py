"""From which day each piece in stock could travel: grown to a size, with its cut edge closed."""

from dataclasses import dataclass

import numpy as np

from ramet.domain.words import Form
from ramet.reference.tables import Reference
from ramet.science.growth import DAYS_A_YEAR, Sizes, grown_sizes
from ramet.science.growth_rate import Z90
from ramet.services.growing.growth_laws import Floats, StrainRates
from ramet.services.growing.stock_arrays import Places, StockArrays

COUNTED_IN_HEADS = frozenset({Form.PHACELOID, Form.TUBULAR})


@dataclass(frozen=True, slots=True)
class ReadyDays:
    """Days from 1970. `grown` is the day on which a piece reaches its size: expected, slow and fast growth;
    infinite when it never does. `healed` is the day its edge counts as closed; minus infinity: no wound."""

    healed: Floats
    grown: Floats
    grown_slow: Floats
    grown_fast: Floats
    least_mm: Floats
    least_heads: Floats


def ready_days(
    stock: StockArrays, rates: StrainRates, reference: Reference, size_mm: float | None = None
) -> ReadyDays:
    """Return from when each piece is healed and big enough.

    Big enough is `size_mm`, or else the least piece of its kind (trait `minimum_piece_mm`); kinds counted
    in heads need `minimum_heads` too. Growth counts from the later of the last reading and the closed edge.
    """
    healed = np.nan_to_num(stock.wounded_on + rates.healing_d[stock.kind], nan=-np.inf)
    least_mm = np.array([_least(reference, kind, "minimum_piece_mm") for kind in stock.kinds])
    if size_mm is not None:
        least_mm = np.full(len(stock.kinds), size_mm)
    least_heads = np.array(
        [
            np.ceil(_least(reference, kind, "minimum_heads")) if kind[1] in COUNTED_IN_HEADS else 0.0
            for kind in stock.kinds
        ]
    )
    from_day = growing_from(stock, healed)
    most = reference.parameter("growth_multiple_most").band.typical
    least = (least_mm[stock.kind], least_heads[stock.kind])
    grown, slow, fast = (
        from_day + _days_to(stock, rates, least[0], least[1], rate_of(rates, z), most)
        for z in (0.0, -Z90, Z90)
    )
    return ReadyDays(healed, grown, slow, fast, least[0], least[1])


def rate_of(rates: StrainRates, z: float) -> Floats:
    """Return the rate of each piece, `z` standard deviations from what is expected."""
    rate: Floats = np.exp(rates.mu + z * rates.piece_sigma)[rates.group]
    return rate


def growing_from(stock: StockArrays, healed: Floats) -> Floats:
    """Return the day from which each piece has grown beyond its last reading."""
    day: Floats = np.fmax(stock.sized_on, healed)
    return day


def sizes_on(
    stock: StockArrays,
    rates: StrainRates,
    healed: Floats,
    at: Places,
    day: float | Floats,
    z: float,
    reference: Reference,
) -> Sizes:
    """Return the sizes of the pieces at some places on a day (or each on its own), grown with `rate_of`."""
    most = reference.parameter("growth_multiple_most").band.typical
    days = np.maximum(0.0, day - growing_from(stock, healed)[at])
    return grown_sizes(
        rates.laws.take(stock.kind[at]), stock.sizes.take(at), rate_of(rates, z)[at], days, most
    )


def _least(reference: Reference, kind: tuple[str, Form], trait: str) -> float:
    return reference.trait(*kind, trait).band.typical


def _days_to(
    stock: StockArrays,
    rates: StrainRates,
    least_mm: Floats,
    least_heads: Floats,
    rate: Floats,
    most: float,
) -> Floats:
    """Return the days of growth until every piece has its least length and heads; infinite: never."""
    laws, sizes = rates.laws.take(stock.kind), stock.sizes
    times = np.maximum(1.0, (least_mm / sizes.length_mm) ** 2)
    heads = np.where(np.isnan(sizes.heads), np.maximum(least_heads, 1.0), sizes.heads)
    times = np.maximum(times, least_heads / heads)
    by_doubling = np.where(times > most, np.inf, np.log(times) / rate)
    short_mm = np.maximum(0.0, least_mm - sizes.length_mm)
    by_length = short_mm / laws.steps / (rate * 10 / DAYS_A_YEAR)
    days: Floats = np.where(laws.doubles, by_doubling, by_length)
    return days

"""How the errors of factors and of sums combine. Bands of positive quantities are read as log-normal."""

import math
from collections.abc import Iterable

from ramet.domain.band import Band

_SMALL = 1e-6
"""A low end of 0 is read as this share of the typical value, so that its logarithm exists."""


def product(*factors: Band) -> Band:
    """Return the band of a product whose factors err independently.

    Notes
    -----
    On the log scale the distances from typical to low (and to high) add in quadrature. A factor whose
    typical value is 0 makes the product 0, with the plain product of the high ends above it.
    """
    typical = math.prod(factor.typical for factor in factors)
    if typical <= 0:
        return Band(0.0, 0.0, math.prod(factor.high for factor in factors))
    down = math.sqrt(sum(_log_step(f.typical, max(f.low, _SMALL * f.typical)) ** 2 for f in factors))
    up = math.sqrt(sum(_log_step(f.high, f.typical) ** 2 for f in factors))
    return Band(typical * math.exp(-down), typical, typical * math.exp(up))


def total(bands: Iterable[Band]) -> Band:
    """Return the band of a sum whose parts err together (same form factor, same newly moved factor)."""
    low = typical = high = 0.0
    for band in bands:
        low, typical, high = low + band.low, typical + band.typical, high + band.high
    return Band(low, typical, high)


def _log_step(upper: float, lower: float) -> float:
    return math.log(upper / lower)

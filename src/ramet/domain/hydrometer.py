"""Salinity behind a hydrometer's reading, by the international equation of state at one atmosphere.

The reading is t/t: density over that of pure water at the same temperature.
"""

import math

from ramet.domain.errors import OutOfRange

HYDROMETER_SALINITY_RANGE = (0.0, 42.0)
HYDROMETER_TEMPERATURE_RANGE_C = (0.0, 40.0)
_WATER = (999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
_A = (8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
_B = (-5.72466e-3, 1.0227e-4, -1.6546e-6)
_C = 4.8314e-4


def density_millero_poisson_1981(temperature_c: float, salinity: float) -> float:
    """Density of seawater at one atmosphere [kg/m³].

    Parameters: temperature [°C, 0 to 40, IPTS-68], practical salinity [0 to 42].

    References
    ----------
    Millero & Poisson 1981, Deep-Sea Research 28A:625-629; UNESCO Technical Papers in Marine Science 44
    (1983), where the check values stand. `science.seawater` has the newer TEOS-10, 0.02 kg/m³ apart.
    """
    water, a, b = (_polynomial(one, temperature_c) for one in (_WATER, _A, _B))
    return water + a * salinity + b * salinity * math.sqrt(salinity) + _C * salinity * salinity


def salinity_from_hydrometer(gravity: float, temperature_c: float) -> float:
    """Return the practical salinity of a water with this t/t specific gravity; found by halving to 1e-6.

    Raises OutOfRange when no salinity from 0 to 42 has it, or the temperature is out of range.
    """
    coldest, warmest = HYDROMETER_TEMPERATURE_RANGE_C
    if not coldest <= temperature_c <= warmest:
        raise OutOfRange("temperature of a hydrometer reading", temperature_c, coldest, warmest, "°C")
    low, high = HYDROMETER_SALINITY_RANGE
    water = density_millero_poisson_1981(temperature_c, 0.0)
    most = density_millero_poisson_1981(temperature_c, high) / water
    if not 1.0 <= gravity <= most:
        raise OutOfRange("specific gravity", gravity, 1.0, round(most, 4), "sg")
    while high - low > 1e-6:
        middle = (low + high) / 2
        if density_millero_poisson_1981(temperature_c, middle) / water < gravity:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _polynomial(coefficients: tuple[float, ...], at: float) -> float:
    value = 0.0
    for one in reversed(coefficients):
        value = value * at + one
    return value

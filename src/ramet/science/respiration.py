"""How much oxygen a coral uses: by temperature and oxygen. Factors on a rate at 25 °C."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

REFERENCE_C = 25.0
"""Temperature at which respiration rates are given."""


def temperature_factor(temperature_c: Array, log_q10_per_c: Array, peak_c: float, fall_c: float) -> Array:
    """Return respiration relative to that at 25 °C.

    Parameters
    ----------
    temperature_c
        Water temperature [°C].
    log_q10_per_c
        Rise of the natural logarithm on the rising side: ln Q10 / 10 [1/°C].
    peak_c
        Temperature at which the rise ends [°C].
    fall_c
        Degrees above the peak at which respiration would reach zero [°C].

    Notes
    -----
    Exponential rise up to `peak_c`, then a parabola down. Shape after the acute ramps of Silbiger et al.
    2019 on Orbicella franksi: 0.98 at 31 °C, 0.90 at 34, 0.48 at 36 µmol cm⁻² h⁻¹.
    Meant for 12 to 36 °C.
    """
    if temperature_c.max(initial=0.0) <= peak_c:
        rising = temperature_c - REFERENCE_C
        rising *= log_q10_per_c
        return np.asarray(np.exp(rising, out=rising))
    rising = np.exp(log_q10_per_c * (np.minimum(temperature_c, peak_c) - REFERENCE_C))
    over = np.maximum(temperature_c - peak_c, 0.0) / fall_c
    return np.asarray(rising * np.maximum(1.0 - over * over, 0.0))


def oxygen_factor(saturation_share: Array, half_share: Array) -> Array:
    """Return respiration relative to that in air-saturated water.

    Parameters
    ----------
    saturation_share
        Oxygen as a share of air saturation, 0 to 5.
    half_share
        Share of air saturation at which a hyperbola through 1 at saturation has half its ceiling.

    Notes
    -----
    f = (1 + h) s / (s + h). With h near 0.08 respiration is kept to 85 % at 30 % of air saturation and
    falls away below, as all 17 species regulate in Hughes et al. 2022; it rises a little in pure oxygen.

    References
    ----------
    Hughes et al. 2022, Marine Pollution Bulletin 179, 113722.
    """
    return np.asarray((1.0 + half_share) * saturation_share / (saturation_share + half_share))

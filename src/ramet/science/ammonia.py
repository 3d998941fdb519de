"""The share of ammonia that is un-ionised, and so poisonous, in seawater."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

AMMONIA_TEMPERATURE_RANGE_C = (-2.0, 40.0)
AMMONIA_SALINITY_RANGE = (0.0, 40.0)
NITROGEN_G_MOL = 14.0067

# Clegg & Whitfield 1995, fit of pK to temperature (kelvin) and salinity, by power of salinity.
_PK_PURE_25 = 9.244605
_PK_SLOPE_K = 2729.33
_S_QUARTER = (0.04203362, -11.24742)
_S_HALF = (-13.6416, 1.176949, -0.02860785, 545.4834)
_S_THREE_HALVES = (-0.1462507, 0.0090226468, -0.0001471361, 10.5425)
_S_TWO = (0.004669309, -0.0001691742, -0.5677934)
_S_FIVE_HALVES = (-2.354039e-05, 0.009698623)
_WATER_SHARE_SLOPE = 0.001005


def ammonium_pk_clegg_whitfield_1995(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Return pK of NH4+ = NH3 + H+ in seawater, total pH scale, moles per kg of seawater.

    Parameters: temperature [°C, -2 to 40], salinity [0 to 40].

    Notes
    -----
    The fit is per kg of water; the step to kg of seawater is the share of water, 1 - 0.001005 S.

    References
    ----------
    Clegg & Whitfield 1995, Geochim. Cosmochim. Acta 59:2403-2421.
    """
    T = np.asarray(temperature_c, dtype=float) + 273.15
    S = np.asarray(salinity, dtype=float)
    root_t, root_s = np.sqrt(T), np.sqrt(S)
    pk = (
        _PK_PURE_25
        - _PK_SLOPE_K * (1 / 298.15 - 1 / T)
        + (_S_QUARTER[0] + _S_QUARTER[1] / T) * np.sqrt(root_s)
        + (_S_HALF[0] + _S_HALF[1] * root_t + _S_HALF[2] * T + _S_HALF[3] / T) * root_s
        + (_S_THREE_HALVES[0] + _S_THREE_HALVES[1] * root_t + _S_THREE_HALVES[2] * T + _S_THREE_HALVES[3] / T)
        * (S * root_s)
        + (_S_TWO[0] + _S_TWO[1] * root_t + _S_TWO[2] / T) * S**2
        + (_S_FIVE_HALVES[0] + _S_FIVE_HALVES[1] / T) * (S**2 * root_s)
    )
    return np.asarray(pk - np.log10(1 - _WATER_SHARE_SLOPE * S))


def unionised_share(ph_total: ArrayLike, temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Share of total ammonia that is NH3, 0 to 1. pH on the total scale."""
    pk = ammonium_pk_clegg_whitfield_1995(temperature_c, salinity)
    return np.asarray(1 / (1 + 10 ** (pk - np.asarray(ph_total, dtype=float))))

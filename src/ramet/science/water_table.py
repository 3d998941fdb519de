"""Seawater constants as polynomials in temperature, so that thousands of bags cost one matrix product."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ramet.science import ammonia, carbonate, seawater
from ramet.science.blocks import times_columns
from ramet.science.gas_exchange import film_temperature_factor, vapour_pressure_atm

Array = NDArray[np.float64]

COLDEST_C, WARMEST_C = -2.0, 46.0
"""Range of the fits. Outside the range of the published relations they carry these on."""
_DEGREE = 7
_OXYGEN_SHARE_OF_AIR = 0.20946
BLANK_Q10 = 2.0
"""Rise per 10 °C of what plug, rock, film and water use."""
ROWS = (
    "k1",
    "k1_k2",
    "kb",
    "kw",
    "calcium_per_ksp",
    "kg_per_l",
    "nh3",
    "root_blank_factor",
    "oxygen_umol_kg_atm",
    "co2_umol_kg_atm",
    "vapour_atm",
    "film_factor",
)
"""The last four are wanted at the middle of a step too; of the blank factor the root, which fits better."""


@dataclass(frozen=True, slots=True)
class WaterTable:
    """Fits for one salinity: `coefficients` has a row per constant, in powers of scaled temperature.

    Equilibrium constants are in µmol/kg (kw in its square), solubilities in µmol/kg per atm.
    """

    coefficients: Array
    boron_umol_kg: float

    def at(self, temperature_c: Array) -> Array:
        """Return all constants: the first axis runs over ROWS, the others are those of `temperature_c`."""
        scaled = (np.clip(temperature_c, COLDEST_C, WARMEST_C) - _MIDDLE) * (1.0 / _HALF)
        powers = np.empty((_DEGREE + 1, *scaled.shape))
        powers[0] = 1.0
        powers[1] = scaled
        for power in range(2, _DEGREE + 1):
            np.multiply(powers[power - 1], scaled, out=powers[power])
        flat = times_columns(self.coefficients, powers.reshape(_DEGREE + 1, -1))
        return flat.reshape(len(ROWS), *scaled.shape)


_MIDDLE, _HALF = (COLDEST_C + WARMEST_C) / 2, (WARMEST_C - COLDEST_C) / 2


@lru_cache(maxsize=64)
def water_table(salinity: float, film_activation_kj_mol: float) -> WaterTable:
    """Return the fits for one salinity. Largest error within the fitted range: 3e-5 relative."""
    scaled = np.cos(np.pi * (np.arange(160) + 0.5) / 160)
    t = _MIDDLE + _HALF * scaled
    known = carbonate.constants(t, salinity)
    vapour = vapour_pressure_atm(t, salinity)
    oxygen = seawater.oxygen_saturation_umol_kg(t, salinity) / (_OXYGEN_SHARE_OF_AIR * (1.0 - vapour))
    values = (
        known.k1 * 1e6,
        known.k1 * known.k2 * 1e12,
        known.kb * 1e6,
        known.kw * 1e12,
        carbonate.calcium_riley_tongudai_1967_umol_kg(salinity)
        / (carbonate.aragonite_ksp_mucci_1983(t, salinity) * 1e12),
        seawater.litre_to_kg(t, salinity),
        10.0 ** -ammonia.ammonium_pk_clegg_whitfield_1995(t, salinity) * 1e6,
        BLANK_Q10 ** ((t - 25.0) / 20.0),
        oxygen,
        carbonate.k0_weiss_1974(t, salinity) * carbonate.fugacity_share_weiss_1974(t) * 1e6,
        vapour,
        film_temperature_factor(t, film_activation_kj_mol),
    )
    rows = [_fit(scaled, np.broadcast_to(value, t.shape)) for value in values]
    return WaterTable(np.vstack(rows), float(carbonate.boron_uppstrom_1974_umol_kg(salinity)))


def _fit(scaled: Array, value: Array) -> Array:
    chebyshev = np.polynomial.chebyshev.chebfit(scaled, value, _DEGREE)
    power = np.polynomial.chebyshev.cheb2poly(chebyshev)
    return np.asarray(np.pad(power, (0, _DEGREE + 1 - power.size)))

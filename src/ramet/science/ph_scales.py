"""From the pH that a probe set with NBS buffers shows in seawater to the total scale.

The scales differ in what is counted as acid: NBS an activity, total and seawater scale concentrations.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

NBS_TEMPERATURE_RANGE_C = (0.0, 40.0)
NBS_SALINITY_RANGE = (20.0, 40.0)


def total_from_nbs(ph_nbs: ArrayLike, temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """pH on the total scale of seawater in which an NBS probe shows `ph_nbs`; 0 to 40 °C, S 20 to 40.

    Notes
    -----
    Good to some 0.03: each electrode has its own liquid junction, which no formula knows.
    """
    seawater_scale = np.asarray(ph_nbs, dtype=float) + np.log10(
        hydrogen_activity_takahashi_1982(temperature_c, salinity)
    )
    sulfate = sulfate_morris_riley_1966_mol_kg(salinity) / ks_dickson_1990(temperature_c, salinity)
    fluoride = fluoride_riley_1965_mol_kg(salinity) / kf_dickson_riley_1979(temperature_c, salinity)
    return np.asarray(seawater_scale + np.log10((1 + sulfate + fluoride) / (1 + sulfate)))


def hydrogen_activity_takahashi_1982(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """NBS acid over acid on the seawater scale; S 20 to 40.

    References
    ----------
    Takahashi et al. 1982, GEOSECS Pacific Expedition vol. 3, chapter 3 (coefficients from memory).
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    return np.asarray(1.2948 - 0.002036 * T + (0.0004607 - 0.000001475 * T) * S * S)


def ks_dickson_1990(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Dissociation constant of bisulfate [mol/kg, free scale]; 0 to 45 °C, S 5 to 45.

    References
    ----------
    Dickson 1990, J. Chem. Thermodyn. 22:113-127.
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    ionic, ln_t = _ionic_strength(S), np.log(T)
    ln_k = (
        -4276.1 / T
        + 141.328
        - 23.093 * ln_t
        + (-13856 / T + 324.57 - 47.986 * ln_t) * np.sqrt(ionic)
        + (35474 / T - 771.54 + 114.723 * ln_t) * ionic
        - 2698 / T * ionic**1.5
        + 1776 / T * ionic**2
    )
    return np.asarray(np.exp(ln_k) * _water_share(S))


def kf_dickson_riley_1979(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Dissociation constant of hydrogen fluoride [mol/kg, free scale]; 0 to 45 °C, S 0 to 45.

    References
    ----------
    Dickson & Riley 1979, Mar. Chem. 7:89-99.
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    ln_k = 1590.2 / T - 12.641 + 1.525 * np.sqrt(_ionic_strength(S))
    return np.asarray(np.exp(ln_k) * _water_share(S))


def sulfate_morris_riley_1966_mol_kg(salinity: ArrayLike) -> Array:
    """Total sulfate of seawater [mol/kg]: 0.14 g per g chlorinity (Morris & Riley 1966, Deep-Sea Res. 13)."""
    return np.asarray(0.14 / 96.062 * np.asarray(salinity, dtype=float) / 1.80655)


def fluoride_riley_1965_mol_kg(salinity: ArrayLike) -> Array:
    """Total fluoride of seawater [mol/kg]: 6.7e-5 g per g chlorinity (Riley 1965, Deep-Sea Res. 12)."""
    return np.asarray(0.000067 / 18.998 * np.asarray(salinity, dtype=float) / 1.80655)


def _kelvin(temperature_c: ArrayLike) -> Array:
    return np.asarray(temperature_c, dtype=float) + 273.15


def _ionic_strength(salinity: Array) -> Array:
    return np.asarray(19.924 * salinity / (1000 - 1.005 * salinity))


def _water_share(salinity: Array) -> Array:
    return np.asarray(1 - 0.001005 * salinity)

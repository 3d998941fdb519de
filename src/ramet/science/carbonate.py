"""The carbonate system of seawater on the total pH scale, for arrays.

Amounts are per kg of seawater. The chain: Lueker 2000 for carbonic acid, Dickson 1990 for boric acid,
Uppström 1974 for total boron, Millero 1995 for water, Weiss 1974 for CO2 gas, Mucci 1983 for aragonite.
Phosphate, silicate, ammonia and fluoride are left out of alkalinity: together under 0.1 % in clean water.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

CARBONATE_TEMPERATURE_RANGE_C = (2.0, 35.0)
CARBONATE_SALINITY_RANGE = (19.0, 43.0)
PH_RANGE = (3.0, 11.0)
_LAST_STEP = 3e-5
"""A Newton step this small squares away: the pH after it is good to better than 1e-8."""
_MOST_STEPS = 60
_CHUNK = 8192
"""Points solved at a time: the working arrays of one chunk stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class Constants:
    """Equilibrium constants [mol/kg, total scale] and total boron [µmol/kg] at one temperature, salinity."""

    k1: Array
    k2: Array
    kb: Array
    kw: Array
    boron_umol_kg: Array


@dataclass(frozen=True, slots=True)
class Species:
    """Inorganic carbon by kind [µmol/kg]."""

    co2: Array
    bicarbonate: Array
    carbonate: Array


def k1_lueker_2000(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """First dissociation constant of carbonic acid [mol/kg, total scale]; 2 to 35 °C, S 19 to 43.

    References
    ----------
    Lueker, Dickson & Keeling 2000, Mar. Chem. 70:105-119.
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    pk = 3633.86 / T - 61.2172 + 9.67770 * np.log(T) - 0.011555 * S + 0.0001152 * S * S
    return np.asarray(_power10(-pk))


def k2_lueker_2000(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Second dissociation constant of carbonic acid [mol/kg, total scale]; 2 to 35 °C, S 19 to 43.

    References
    ----------
    Lueker, Dickson & Keeling 2000, Mar. Chem. 70:105-119.
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    pk = 471.78 / T + 25.9290 - 3.16967 * np.log(T) - 0.01781 * S + 0.0001122 * S * S
    return np.asarray(_power10(-pk))


def kb_dickson_1990(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Dissociation constant of boric acid [mol/kg, total scale]; 0 to 45 °C, S 5 to 45.

    References
    ----------
    Dickson 1990, Deep-Sea Res. 37:755-766.
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    root = np.sqrt(S)
    ln_k = (
        (-8966.90 - 2890.53 * root - 77.942 * S + 1.728 * S * root - 0.0996 * S * S) / T
        + (148.0248 + 137.1942 * root + 1.62142 * S)
        - (24.4344 + 25.085 * root + 0.2474 * S) * np.log(T)
        + 0.053105 * root * T
    )
    return np.asarray(np.exp(ln_k))


def kw_millero_1995(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Ion product of water in seawater [(mol/kg)², total scale]; 0 to 40 °C, S 0 to 40.

    Notes
    -----
    In the form of Dickson, Sabine & Christian 2007 (constant 148.9652), which is on the total scale.
    Programs that move the paper's own seawater-scale form over get values 0.7 % lower; in pH that is
    below 0.0001 here.

    References
    ----------
    Millero 1995, Geochim. Cosmochim. Acta 59:661-677; Dickson et al. 2007, PICES Special Publication 3.
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    ln_t = np.log(T)
    ln_k = (
        148.9652
        - 13847.26 / T
        - 23.6521 * ln_t
        + (118.67 / T - 5.977 + 1.0495 * ln_t) * np.sqrt(S)
        - 0.01615 * S
    )
    return np.asarray(np.exp(ln_k))


def k0_weiss_1974(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Solubility of CO2 [mol/(kg atm) of fugacity]; -1 to 40 °C, S 0 to 40.

    References
    ----------
    Weiss 1974, Mar. Chem. 2:203-215, eq. 12 and table I (per kg).
    """
    hundreds, S = _kelvin(temperature_c) / 100, np.asarray(salinity, dtype=float)
    ln_k = (
        -60.2409
        + 93.4517 / hundreds
        + 23.3585 * np.log(hundreds)
        + S * (0.023517 - 0.023656 * hundreds + 0.0047036 * hundreds * hundreds)
    )
    return np.asarray(np.exp(ln_k))


def fugacity_share_weiss_1974(temperature_c: ArrayLike) -> Array:
    """Fugacity of CO2 over its partial pressure, in air at one atmosphere; -1 to 40 °C.

    References
    ----------
    Weiss 1974, Mar. Chem. 2:203-215, eqs. 6, 9 and 11.
    """
    T = _kelvin(temperature_c)
    virial = -1636.75 + 12.0408 * T - 0.0327957 * T**2 + 3.16528e-5 * T**3
    cross = 57.7 - 0.118 * T
    gas_constant_cm3_atm = 82.0573
    return np.asarray(np.exp((virial + 2 * cross) / (gas_constant_cm3_atm * T)))


def boron_uppstrom_1974_umol_kg(salinity: ArrayLike) -> Array:
    """Total boron [µmol/kg] from salinity.

    Notes
    -----
    The lower of the two ratios in use (Lee et al. 2010 found 4 % more); kept because the carbonic acid
    constants in use here were derived with it.

    References
    ----------
    Uppström 1974, Deep-Sea Res. 21:161-162: 0.232 mg boron per kg and chlorinity; S = 1.80655 Cl.
    """
    return np.asarray(0.000232 / 10.811 * np.asarray(salinity, dtype=float) / 1.80655 * 1e6)


def aragonite_ksp_mucci_1983(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Solubility product of aragonite [(mol/kg)²]; 5 to 40 °C, S 5 to 44.

    References
    ----------
    Mucci 1983, Am. J. Sci. 283:780-799.
    """
    T, S = _kelvin(temperature_c), np.asarray(salinity, dtype=float)
    root = np.sqrt(S)
    log_k = (
        -171.945
        - 0.077993 * T
        + 2903.293 / T
        + 71.595 * np.log10(T)
        + (-0.068393 + 0.0017276 * T + 88.135 / T) * root
        - 0.10018 * S
        + 0.0059415 * S * root
    )
    return np.asarray(_power10(log_k))


def calcium_riley_tongudai_1967_umol_kg(salinity: ArrayLike) -> Array:
    """Calcium of natural seawater [µmol/kg] from salinity, used where calcium was not measured.

    References
    ----------
    Riley & Tongudai 1967, Chem. Geol. 2:263-269: Ca / Cl = 0.02128 g/kg per g/kg.
    """
    return np.asarray(0.02128 / 40.087 * np.asarray(salinity, dtype=float) / 1.80655 * 1e6)


def constants(temperature_c: ArrayLike, salinity: ArrayLike) -> Constants:
    """All constants that pH needs, at one temperature and salinity (arrays broadcast)."""
    return Constants(
        k1=k1_lueker_2000(temperature_c, salinity),
        k2=k2_lueker_2000(temperature_c, salinity),
        kb=kb_dickson_1990(temperature_c, salinity),
        kw=kw_millero_1995(temperature_c, salinity),
        boron_umol_kg=boron_uppstrom_1974_umol_kg(salinity),
    )


def ph_total(
    dic_umol_kg: ArrayLike,
    alkalinity_umol_kg: ArrayLike,
    temperature_c: ArrayLike,
    salinity: ArrayLike,
    start: ArrayLike | None = None,
) -> Array:
    """Return pH (total scale) of water with this inorganic carbon and alkalinity.

    Parameters
    ----------
    dic_umol_kg, alkalinity_umol_kg : carbon above 0; alkalinity may be low or even negative.
    temperature_c, salinity : see the ranges of the constants.
    start : a pH to start from, such as that of the step before; None starts from carbonate alone.

    Notes
    -----
    Newton on pH inside a bracket: alkalinity rises steadily with pH, so the bracket always holds the
    root and a step out of it is replaced by its middle. Answers end at pH 3 and 11.
    """
    parts = (dic_umol_kg, alkalinity_umol_kg, temperature_c, salinity, np.nan if start is None else start)
    given = np.broadcast_arrays(*(np.asarray(part, dtype=float) for part in parts))
    flat = [part.ravel() for part in given]
    answer = np.empty(flat[0].shape)
    for first in range(0, answer.size, _CHUNK):
        dic, alk, temperature, sal, begin = (part[first : first + _CHUNK] for part in flat)
        known = constants(temperature, sal)
        guess = _carbonate_guess(dic, alk, known) if start is None else np.clip(begin, *PH_RANGE)
        answer[first : first + _CHUNK] = _newton(dic, alk, known, guess)
    return answer.reshape(given[0].shape)


def alkalinity_from_ph_umol_kg(
    ph: ArrayLike, dic_umol_kg: ArrayLike, temperature_c: ArrayLike, salinity: ArrayLike
) -> Array:
    """Total alkalinity [µmol/kg] of water with this pH and inorganic carbon."""
    value, _ = _alkalinity_and_slope(
        np.asarray(ph, dtype=float), np.asarray(dic_umol_kg, dtype=float), constants(temperature_c, salinity)
    )
    return value


def dic_from_ph(
    ph: ArrayLike, alkalinity_umol_kg: ArrayLike, temperature_c: ArrayLike, salinity: ArrayLike
) -> Array:
    """Inorganic carbon [µmol/kg] of water with this pH (total scale) and alkalinity."""
    known = constants(temperature_c, salinity)
    h = _power10(-np.asarray(ph, dtype=float))
    borate = known.boron_umol_kg * known.kb / (known.kb + h)
    carbonate_alkalinity = np.asarray(alkalinity_umol_kg, dtype=float) - borate - (known.kw / h - h) * 1e6
    share = known.k1 * (h + 2 * known.k2) / (h * h + known.k1 * (h + known.k2))
    return np.asarray(carbonate_alkalinity / share)


def species(ph: ArrayLike, dic_umol_kg: ArrayLike, temperature_c: ArrayLike, salinity: ArrayLike) -> Species:
    """Split inorganic carbon into dissolved CO2, bicarbonate and carbonate [µmol/kg]."""
    k1, k2 = k1_lueker_2000(temperature_c, salinity), k2_lueker_2000(temperature_c, salinity)
    h, dic = _power10(-np.asarray(ph, dtype=float)), np.asarray(dic_umol_kg, dtype=float)
    whole = h * h + k1 * (h + k2)
    return Species(
        np.asarray(dic * h * h / whole), np.asarray(dic * k1 * h / whole), np.asarray(dic * k1 * k2 / whole)
    )


def pco2_uatm(co2_umol_kg: ArrayLike, temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Partial pressure of CO2 [µatm] in equilibrium with dissolved CO2."""
    fugacity = np.asarray(co2_umol_kg, dtype=float) / k0_weiss_1974(temperature_c, salinity)
    return np.asarray(fugacity / fugacity_share_weiss_1974(temperature_c))


def aragonite_saturation(
    carbonate_umol_kg: ArrayLike, calcium_umol_kg: ArrayLike, temperature_c: ArrayLike, salinity: ArrayLike
) -> Array:
    """Saturation state of aragonite: below 1 the skeleton of a stony coral dissolves."""
    product = np.asarray(carbonate_umol_kg, dtype=float) * np.asarray(calcium_umol_kg, dtype=float) * 1e-12
    return np.asarray(product / aragonite_ksp_mucci_1983(temperature_c, salinity))


def _kelvin(temperature_c: ArrayLike) -> Array:
    return np.asarray(temperature_c, dtype=float) + 273.15


def _power10(exponent: Array) -> Array:
    return np.asarray(np.exp(np.log(10.0) * exponent))


def _carbonate_guess(dic: Array, alkalinity: Array, known: Constants) -> Array:
    """Return pH from a quadratic in [H+], with borate taken first as a quarter, then at the pH found."""
    borate = 0.25 * known.boron_umol_kg * (alkalinity > 0.9 * dic)
    for _ in range(2):
        shared = np.clip((alkalinity - borate) / dic, 0.02, 1.98)
        b = known.k1 * (1 - 1 / shared)
        c = known.k1 * known.k2 * (1 - 2 / shared)
        h = 0.5 * (np.sqrt(b * b - 4 * c) - b)
        borate = known.boron_umol_kg * known.kb / (known.kb + h)
    return np.asarray(np.clip(-np.log10(h), PH_RANGE[0], PH_RANGE[1]))


def _alkalinity_and_slope(ph: Array, dic: Array, known: Constants) -> tuple[Array, Array]:
    """Alkalinity [µmol/kg] at a pH, and its change per unit of pH."""
    h = _power10(-ph)
    co2, bicarbonate, carbonate = h * h, known.k1 * h, known.k1 * known.k2
    per_whole = dic / (co2 + bicarbonate + carbonate)
    bicarbonate, carbonate, co2 = bicarbonate * per_whole, carbonate * per_whole, co2 * per_whole
    borate = known.boron_umol_kg * known.kb / (known.kb + h)
    hydroxide, proton = known.kw / h * 1e6, h * 1e6
    value = bicarbonate + 2 * carbonate + borate + hydroxide - proton
    carbon = (bicarbonate * (co2 + carbonate) + 4 * carbonate * co2) / dic
    slope = carbon + borate * h / (known.kb + h) + hydroxide + proton
    return np.asarray(value), np.asarray(np.log(10.0) * slope)


def _newton(dic: Array, alkalinity: Array, known: Constants, ph: Array) -> Array:
    low, high = np.full_like(ph, PH_RANGE[0]), np.full_like(ph, PH_RANGE[1])
    for _ in range(_MOST_STEPS):
        value, slope = _alkalinity_and_slope(ph, dic, known)
        excess = value - alkalinity
        above = excess > 0
        high, low = np.where(above, ph, high), np.where(above, low, ph)
        stepped = ph - excess / slope
        following = np.where((stepped < low) | (stepped > high), 0.5 * (low + high), stepped)
        moved = np.abs(following - ph).max(initial=0.0)
        ph = following
        if moved < _LAST_STEP:
            break
    return ph

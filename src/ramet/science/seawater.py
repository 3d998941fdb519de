"""Density, heat capacity and oxygen solubility of seawater, from TEOS-10 through gsw.

Salinity is practical salinity (as a refractometer or conductivity meter shows it). Where it was not
measured, absolute salinity is taken as reference salinity: an aquarium is no place on the ocean's map.
"""

import gsw
import numpy as np
from numpy.typing import ArrayLike, NDArray

from ramet.domain.errors import OutOfRange

Array = NDArray[np.float64]

OXYGEN_G_MOL = 31.9988
TEMPERATURE_RANGE_C = (0.0, 40.0)
SALINITY_RANGE = (0.0, 42.0)


def density_kg_m3(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Density of seawater at the surface [kg/m³].

    Parameters: in-situ temperature [°C, 0 to 40], practical salinity [0 to 42].

    References
    ----------
    IOC, SCOR, IAPSO 2010, TEOS-10 (75-term equation, Roquet et al. 2015), `gsw.rho`.
    """
    absolute = gsw.SR_from_SP(np.asarray(salinity, dtype=float))
    conservative = gsw.CT_from_t(absolute, np.asarray(temperature_c, dtype=float), 0.0)
    return np.asarray(gsw.rho(absolute, conservative, 0.0), dtype=float)


def heat_capacity_j_kgk(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Isobaric heat capacity of seawater at the surface [J/(kg K)].

    Parameters: in-situ temperature [°C, 0 to 40], practical salinity [0 to 42].

    References
    ----------
    IOC, SCOR, IAPSO 2010, TEOS-10, Gibbs function, `gsw.cp_t_exact`.
    """
    absolute = gsw.SR_from_SP(np.asarray(salinity, dtype=float))
    return np.asarray(gsw.cp_t_exact(absolute, np.asarray(temperature_c, dtype=float), 0.0), dtype=float)


def oxygen_saturation_umol_kg(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Oxygen dissolved in equilibrium with moist air at one atmosphere [µmol/kg].

    Parameters: temperature [°C, 0 to 40], practical salinity [0 to 42].

    References
    ----------
    Garcia & Gordon 1992, Limnol. Oceanogr. 37:1307, coefficients fitted to Benson & Krause 1984;
    `gsw.O2sol_SP_pt` (at the surface potential and in-situ temperature are the same).
    """
    return np.asarray(
        gsw.O2sol_SP_pt(np.asarray(salinity, dtype=float), np.asarray(temperature_c, dtype=float)),
        dtype=float,
    )


def oxygen_saturation_mg_l(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Oxygen dissolved in equilibrium with moist air at one atmosphere [mg/L]; ranges as per kilogram."""
    per_kg = oxygen_saturation_umol_kg(temperature_c, salinity)
    return per_kg * density_kg_m3(temperature_c, salinity) * (OXYGEN_G_MOL * 1e-6)


def litre_to_kg(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Mass of a litre of seawater [kg/L]: turns µmol/kg into µmol/L."""
    return density_kg_m3(temperature_c, salinity) * 1e-3


def specific_gravity(temperature_c: ArrayLike, salinity: ArrayLike) -> Array:
    """Density over that of pure water at the same temperature (a hydrometer's t/t reading)."""
    return density_kg_m3(temperature_c, salinity) / density_kg_m3(temperature_c, 0.0)


def salinity_from_specific_gravity(gravity: float, temperature_c: float) -> float:
    """Return the practical salinity whose t/t specific gravity this is; found by halving to 1e-6.

    Raises OutOfRange when no salinity from 0 to 42 has it.
    """
    low, high = SALINITY_RANGE
    ends = [float(specific_gravity(temperature_c, end)) for end in (low, high)]
    if not ends[0] <= gravity <= ends[1]:
        raise OutOfRange("specific gravity", gravity, round(ends[0], 4), round(ends[1], 4), "sg")
    while high - low > 1e-6:
        middle = (low + high) / 2
        if float(specific_gravity(temperature_c, middle)) < gravity:
            low = middle
        else:
            high = middle
    return (low + high) / 2

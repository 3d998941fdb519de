"""How gas passes the water surface and the film of a bag."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

GAS_CONSTANT_J_MOLK = 8.314462618
FILM_REFERENCE_C = 23.0
"""Temperature at which film permeation is quoted."""
FILM_REFERENCE_UM = 25.0
"""Thickness at which film permeation is quoted."""
UMOL_PER_CM3_STP = 1e6 / 22413.97
"""Gas quoted as cm³ at 0 °C and 1 atm."""


def film_conductance_umol_h_atm(
    permeation_cm3_m2_d_atm: float, area_cm2: float, film_um: float, layers: int
) -> float:
    """Return oxygen through a film at 23 °C [µmol/h per atm].

    Parameters
    ----------
    permeation_cm3_m2_d_atm
        Oxygen transmission of a 25 µm film [cm³(STP) m⁻² d⁻¹ atm⁻¹].
    area_cm2
        Film area [cm²].
    film_um
        Thickness of one layer [µm].
    layers
        Layers in series.
    """
    flow_cm3_d = permeation_cm3_m2_d_atm * (FILM_REFERENCE_UM / (film_um * layers)) * area_cm2 * 1e-4
    return flow_cm3_d * UMOL_PER_CM3_STP / 24.0


def film_temperature_factor(temperature_c: Array, activation_kj_mol: float) -> Array:
    """Return film permeation relative to that at 23 °C (Arrhenius).

    References
    ----------
    Polymer International 30 (1993) 109: oxygen 31.3, carbon dioxide 35 to 37 kJ/mol in LDPE.
    """
    kelvin, reference = temperature_c + 273.15, FILM_REFERENCE_C + 273.15
    return np.asarray(
        np.exp(activation_kj_mol * 1e3 / GAS_CONSTANT_J_MOLK * (1.0 / reference - 1.0 / kelvin))
    )


def vapour_pressure_atm(temperature_c: Array, salinity: float) -> Array:
    """Return the pressure of water vapour over seawater [atm].

    Notes
    -----
    Weiss & Price 1980, Marine Chemistry 8, 347, equation 10. Valid 0 to 40 °C, salinity 0 to 40.
    """
    kelvin = temperature_c + 273.15
    return np.asarray(
        np.exp(24.4543 - 67.4509 * (100.0 / kelvin) - 4.8489 * np.log(kelvin / 100.0) - 0.000544 * salinity)
    )

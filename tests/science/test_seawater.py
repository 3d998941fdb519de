"""Seawater properties against published tables and the check values of their papers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.errors import OutOfRange
from ramet.science.seawater import (
    density_kg_m3,
    heat_capacity_j_kgk,
    litre_to_kg,
    oxygen_saturation_mg_l,
    oxygen_saturation_umol_kg,
    salinity_from_specific_gravity,
    specific_gravity,
)

# Sharqawy, Lienhard & Zubair 2010 (Desalin. Water Treat. 16:354-380) at 35 g/kg: density, heat capacity.
# The correlations claim 0.1 % for density; for heat capacity 0.3 % is what they agree to with tables.
SHARQAWY = [
    (15, 1026.0, 3998),
    (20, 1024.9, 4000),
    (25, 1023.6, 4002),
    (28, 1022.7, 4003),
    (30, 1022.0, 4003),
]
REFERENCE_SALINITY_SHARE = 35.16504 / 35
"""g/kg of reference salinity over practical salinity (Millero et al. 2008)."""


@pytest.mark.parametrize(("celsius", "density", "heat"), SHARQAWY)
def test_density_and_heat_capacity_agree_with_the_desalination_tables(celsius, density, heat):
    salinity = 35 / REFERENCE_SALINITY_SHARE
    assert float(density_kg_m3(celsius, salinity)) == pytest.approx(density, rel=1e-3)
    assert float(heat_capacity_j_kgk(celsius, salinity)) == pytest.approx(heat, rel=3e-3)


def test_pure_water_has_its_handbook_density_and_heat():
    # Accepted tables: 999.1 kg/m³ at 15 °C, 997.0 at 25 °C; heat capacity 4180 to 4190 J/(kg K).
    assert float(density_kg_m3(15, 0)) == pytest.approx(999.1, abs=0.05)
    assert float(density_kg_m3(25, 0)) == pytest.approx(997.0, abs=0.05)
    assert 4178 <= float(heat_capacity_j_kgk(25, 0)) <= 4190


@pytest.mark.parametrize(("celsius", "mg_l"), [(18, 7.68), (20, 7.40), (25, 6.77), (28, 6.44)])
def test_oxygen_saturation_agrees_with_the_table_for_salinity_35(celsius, mg_l):
    # Computed elsewhere from the standard formulae and printed to 0.01 mg/L.
    assert float(oxygen_saturation_mg_l(celsius, 35)) == pytest.approx(mg_l, abs=0.006)


def test_oxygen_saturation_meets_the_check_value_of_garcia_and_gordon():
    # 274.610 µmol/kg at 10 °C and salinity 35: value from memory, printed by programs that use the paper;
    # the newest coefficients differ from it by 0.014.
    assert float(oxygen_saturation_umol_kg(10, 35)) == pytest.approx(274.610, abs=0.02)


def test_a_litre_of_reef_water_weighs_as_growers_reckon():
    # Rule of thumb of the packing sheet: 1 L = 1.024 kg.
    assert float(litre_to_kg(25, 35)) == pytest.approx(1.024, abs=0.001)


def test_specific_gravity_of_normal_seawater_is_that_of_a_hydrometer():
    # 1.0264 at 25 °C for salinity 35: common practice among aquarists, no source.
    assert float(specific_gravity(25, 35)) == pytest.approx(1.0264, abs=1e-4)


@given(st.floats(1, 41), st.floats(5, 35))
def test_salinity_comes_back_from_its_specific_gravity(salinity, celsius):
    gravity = float(specific_gravity(celsius, salinity))
    assert salinity_from_specific_gravity(gravity, celsius) == pytest.approx(salinity, abs=1e-5)


def test_a_specific_gravity_that_no_seawater_has_is_refused():
    with pytest.raises(OutOfRange, match="specific gravity"):
        salinity_from_specific_gravity(1.2, 25)


def test_arrays_broadcast():
    assert oxygen_saturation_mg_l(np.array([20.0, 25.0]), 35).shape == (2,)

"""Density of seawater against the printed check values, and salinity against TEOS-10."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.errors import OutOfRange
from ramet.domain.hydrometer import density_millero_poisson_1981, salinity_from_hydrometer
from ramet.science.seawater import salinity_from_specific_gravity


@pytest.mark.parametrize(
    ("temperature_c", "salinity", "density_kg_m3"),
    [(5, 0, 999.96675), (25, 0, 997.04796), (5, 35, 1027.67547), (25, 35, 1023.34306)],
)
def test_density_has_its_printed_check_values(
    temperature_c: float, salinity: float, density_kg_m3: float
) -> None:
    # UNESCO Technical Papers in Marine Science 44 (1983), check values at one atmosphere.
    assert density_millero_poisson_1981(temperature_c, salinity) == pytest.approx(density_kg_m3, abs=1e-5)


@given(st.floats(15, 32), st.floats(1.015, 1.029))
def test_salinity_agrees_with_teos_10(temperature_c: float, gravity: float) -> None:
    # Tolerance: the two equations of state differ by 0.02 kg/m³ or so, 0.02 in salinity.
    newer = salinity_from_specific_gravity(gravity, temperature_c)
    assert salinity_from_hydrometer(gravity, temperature_c) == pytest.approx(newer, abs=0.02)


@pytest.mark.parametrize(("gravity", "temperature_c"), [(1.2, 25), (0.99, 25), (1.025, 55)])
def test_a_reading_that_no_seawater_gives_is_refused(gravity: float, temperature_c: float) -> None:
    with pytest.raises(OutOfRange):
        salinity_from_hydrometer(gravity, temperature_c)

"""Packs and ice that near the temperature around them, against arithmetic and a general integrator."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from ramet.science.melting import PhaseBody

# 1 kg of ice: 334 kJ/kg, 2.1 kJ/(kg K) frozen and 4.186 thawed (handbook values).
ICE = PhaseBody(0.0, 334e3, 2100.0, 4186.0, -334e3, 0.5, 0.0)
S_PER_H = 3600.0


def mean_c(enthalpy_j: float, around_c: float, w_k: float, hours: float) -> float:
    return float(ICE.mean_c(np.array([enthalpy_j]), np.array([around_c]), w_k, hours)[0])


def ahead_j(enthalpy_j: float, around_c: float, w_k: float, hours: float) -> float:
    """Enthalpy at the end of a step, by the heat that its mean temperature lets in."""
    return enthalpy_j + w_k * (around_c - mean_c(enthalpy_j, around_c, w_k, hours)) * S_PER_H * hours


def test_ice_stays_at_zero_until_the_heat_of_melting_is_in() -> None:
    # 334 kJ at 0.5 W/K × 20 K = 10 W take 9.28 h.
    assert mean_c(-334e3, 20.0, 0.5, 9.2) == pytest.approx(0.0, abs=1e-9)
    assert ahead_j(-334e3, 20.0, 0.5, 334e3 / 10 / S_PER_H) == pytest.approx(0.0, abs=1e-6)
    assert mean_c(-334e3, 20.0, 0.5, 12.0) > 0.1


def test_thawed_ice_warms_as_a_lump_of_water() -> None:
    # Newton's law: 10 °C water under 30 °C air, 4186 J/K at 0.5 W/K.
    end = ahead_j(41860.0, 30.0, 0.5, 5.0)
    assert end / 4186 == pytest.approx(30 - 20 * np.exp(-0.5 * 5 * S_PER_H / 4186), abs=1e-9)


def test_what_freezes_gives_its_heat_back() -> None:
    # Thawed at 0 °C under -10 °C: 334 kJ at 5 W take 18.6 h.
    assert ahead_j(0.0, -10.0, 0.5, 334e3 / 5 / S_PER_H) == pytest.approx(-334e3, rel=1e-9)


@pytest.mark.parametrize("around_c", [-25.0, -3.0, 0.0, 4.0, 35.0])
@pytest.mark.parametrize("start_j", [-400e3, -334e3, -100e3, 0.0, 60e3])
def test_a_step_of_any_length_is_that_of_a_general_integrator(start_j: float, around_c: float) -> None:
    for hours in (0.1, 2.0, 40.0):
        found = solve_ivp(
            lambda _, h: 1.2 * (around_c - ICE.temperature_c(h)),
            (0, hours * S_PER_H),
            [start_j],
            rtol=1e-8,
            atol=1e-2,
            max_step=hours * S_PER_H / 50,
        )
        assert ahead_j(start_j, around_c, 1.2, hours) == pytest.approx(found.y[0, -1], abs=60.0)


def test_bodies_that_change_state_do_not_change_what_others_get() -> None:
    # One that melts through and one that does not, together and alone.
    enthalpy, around = np.array([-300e3, -1e3, 5e3]), np.array([10.0, 30.0, 2.0])
    together = ICE.mean_c(enthalpy, around, 0.8, 3.0)
    alone = [mean_c(float(h), float(t), 0.8, 3.0) for h, t in zip(enthalpy, around, strict=True)]
    assert together == pytest.approx(alone, abs=1e-9)

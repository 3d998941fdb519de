"""What a receiving tank's water keys mean: net volume, salinity by hydrometer, a unit to ask for."""

from collections.abc import Mapping
from typing import Any

from ramet.domain.errors import OutOfRange
from ramet.domain.hydrometer import salinity_from_hydrometer
from ramet.domain.quantities import MEQ_L_PER_DKH

WATER_KEYS = ("display_l", "sump_l", "displaced_l", "length_mm", "width_mm", "depth_mm")
MEQ_LIKE_DKH = (1.5, 3.5)
"""A bare number of dKH in here is what a test in meq/L would show: seawater holds 2.0 to 2.5 meq/L."""
SEAWATER_FROM = 25.0
_GRAVITY = "sg"
_MM3_PER_L = 1e6


def net_l(tank: Mapping[str, Any]) -> Any:
    """Net volume [L]: display (else length × width × depth of its water) and sump, less displacement.

    None when neither display nor depth is given, or when displacement takes all of it.
    """
    display = tank.get("display_l")
    if display is None and tank.get("depth_mm") is not None:
        display = tank["length_mm"] * tank["width_mm"] * tank["depth_mm"] / _MM3_PER_L
    if display is None:
        return None
    net = display + tank.get("sump_l", 0.0) - tank.get("displaced_l", 0.0)
    return round(float(net), 1) if net > 0 else None


def salinity_of(given: Any, temperature_c: float | None) -> Any:
    """Return a number as it is; text such as "1.0264 sg" is a hydrometer's reading at the temperature.

    Raises ValueError with what is expected.
    """
    if not isinstance(given, str):
        return given
    expected = 'a number, or a specific gravity at the tank\'s temperature such as "1.0264 sg"'
    number, _, unit = given.strip().partition(" ")
    if unit.strip().lower() != _GRAVITY or temperature_c is None:
        raise ValueError(expected)
    try:
        return round(salinity_from_hydrometer(float(number), temperature_c), 2)
    except ValueError:
        raise ValueError(expected) from None
    except OutOfRange as error:
        raise ValueError(f"{expected}; {error}") from None


def without_doubt(given: Any, salinity: float | None) -> Any:
    """Return an alkalinity [dKH] as given, or ask for its unit when a bare number looks like meq/L.

    Text with a unit is taken at its word. Raises ValueError with the question.
    """
    low, high = MEQ_LIKE_DKH
    if isinstance(given, bool) or not isinstance(given, int | float) or not low <= given <= high:
        return given
    if salinity is None or salinity < SEAWATER_FROM:
        return given
    raise ValueError(
        f"which unit is this? At a salinity of {salinity:g} it looks like meq/L, "
        f'{given / MEQ_L_PER_DKH:.1f} dKH: write "{given:g} meq/l"; if it really is so low, '
        f'write "{given:g} dkh"'
    )

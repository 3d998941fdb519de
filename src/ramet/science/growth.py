"""How pieces grow: branches by length, discs by radius, heads by number, mats by area.

Growth counts from the day the cut is closed. Times are days, rates as growers and papers print them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ramet.domain.words import Form
from ramet.science.areas import Size

DAYS_A_YEAR = 365.0
_BY_HEADS = frozenset({Form.PHACELOID, Form.TUBULAR})
_BY_AREA = frozenset({Form.MAT})
_BRANCHES_SIDEWAYS = 0.5
"""Side branches follow the leading tip at about half its pace (judged; a frag starts as one branch)."""


FLAT = frozenset({Form.PLATING, Form.ENCRUSTING, Form.TABLE, Form.DISC})
"""Forms that spread from their margin and hardly rise."""
DOUBLING = _BY_HEADS | _BY_AREA
"""Forms whose heads or area double; all others grow by the same length each year."""
ARAGONITE_G_CM3 = 2.93
"""Density of coral skeleton's mineral (Jokiel, Maragos and Franzisket 1978, from memory)."""


def growing_days(days: float, healing_d: float) -> float:
    """Days that count for growth: none before the wound has closed."""
    return max(0.0, days - healing_d)


def branch_length_cm(length_cm: float, extension_cm_yr: float, days: float, healing_d: float = 0.0) -> float:
    """Length of a branch that grows at its tip by the same length each year [cm]."""
    return length_cm + extension_cm_yr * growing_days(days, healing_d) / DAYS_A_YEAR


def days_to_length(length_cm: float, goal_cm: float, extension_cm_yr: float, healing_d: float = 0.0) -> float:
    """Days until a branch reaches a length; infinite when it does not grow."""
    if goal_cm <= length_cm:
        return healing_d
    if extension_cm_yr <= 0:
        return math.inf
    return healing_d + (goal_cm - length_cm) / extension_cm_yr * DAYS_A_YEAR


def disc_area_cm2(radius_cm: float, extension_cm_yr: float, days: float, healing_d: float = 0.0) -> float:
    """Area of a crust or plate whose radius grows by the same length each year [cm²]."""
    return math.pi * branch_length_cm(radius_cm, extension_cm_yr, days, healing_d) ** 2


def heads_after(heads: float, doubling_d: float, days: float, most: float, healing_d: float = 0.0) -> float:
    """Heads of a colony whose heads each split every `doubling_d` days, up to the most it has room for."""
    return _doubled(heads, doubling_d, growing_days(days, healing_d), most)


def mat_area_cm2(
    area_cm2: float, doubling_d: float, days: float, most: float, healing_d: float = 0.0
) -> float:
    """Area of a mat that doubles every `doubling_d` days until it meets its bounds [cm²]."""
    return _doubled(area_cm2, doubling_d, growing_days(days, healing_d), most)


def specific_growth_rate_d(before: float, after: float, days: float) -> float:
    """Specific growth rate [1/day] from two masses or areas: ln(after / before) / days."""
    if before <= 0 or after <= 0 or days <= 0:
        raise ValueError("two amounts and a time above 0")
    return math.log(after / before) / days


def doubling_days(rate_d: float) -> float:
    """Days to double at a specific growth rate [1/day]."""
    return math.log(2) / rate_d


def grown(
    form: Form, size: Size, extension_cm_yr: float, growing_d: float, doubling_d: float, most: float
) -> Size:
    """Size of a piece after so many days of growth (counted from the closed wound).

    Parameters
    ----------
    extension_cm_yr : tip or margin extension; used by all forms but heads and mats.
    doubling_d : days in which heads or mat area double.
    most : the cap on how many times heads or mat area multiply.
    """
    if form in _BY_HEADS or form in _BY_AREA:
        return _spread_out(size, _doubled(1.0, doubling_d, growing_d, most))
    step_mm = extension_cm_yr * 10 * growing_d / DAYS_A_YEAR
    if form in FLAT:
        return replace(size, length_mm=size.length_mm + 2 * step_mm, width_mm=size.width_mm + 2 * step_mm)
    sideways = step_mm * length_steps(form)
    return replace(
        size,
        length_mm=size.length_mm + sideways,
        width_mm=size.width_mm + sideways,
        height_mm=size.height_mm + step_mm,
    )


def length_steps(form: Form) -> float:
    """By how many times its extension a form gains in length: at both margins, branches at half the pace."""
    return 2 * _BRANCHES_SIDEWAYS if form is Form.BRANCHING else 2.0


@dataclass(frozen=True, slots=True)
class Sizes:
    """Sizes of many pieces as arrays of one length [mm, heads]; no heads counted: nan."""

    length_mm: NDArray[np.float64]
    width_mm: NDArray[np.float64]
    height_mm: NDArray[np.float64]
    heads: NDArray[np.float64]

    def take(self, at: NDArray[np.int64] | slice) -> "Sizes":
        """Return the sizes at these places."""
        return Sizes(self.length_mm[at], self.width_mm[at], self.height_mm[at], self.heads[at])


@dataclass(frozen=True, slots=True)
class Laws:
    """How many pieces grow, as arrays: do they double; do they rise; gain in length per extension."""

    doubles: NDArray[np.bool_]
    rises: NDArray[np.bool_]
    steps: NDArray[np.float64]

    def take(self, at: NDArray[np.int64]) -> "Laws":
        """Return the laws at these places."""
        return Laws(self.doubles[at], self.rises[at], self.steps[at])


def laws_of(forms: Sequence[Form]) -> Laws:
    """Return the law of each form."""
    return Laws(
        np.array([form in DOUBLING for form in forms], dtype=bool),
        np.array([form not in DOUBLING | FLAT for form in forms], dtype=bool),
        np.array([length_steps(form) for form in forms], dtype=float),
    )


def grown_sizes(
    laws: Laws, sizes: Sizes, rate: NDArray[np.float64], growing_d: NDArray[np.float64], most: float
) -> Sizes:
    """Return many pieces after days of growth, as `grown` does for one.

    Parameters
    ----------
    rate : extension [cm/yr], or the specific growth rate [1/day] of forms that double.
    growing_d : days of growth of each, counted from the closed wound [d], at least 0.
    most : the cap on how many times heads or mat area multiply.
    """
    step_mm = np.where(laws.doubles, 0.0, rate * 10 * growing_d / DAYS_A_YEAR)
    times = np.where(laws.doubles, np.exp(np.where(laws.doubles, rate * growing_d, 0.0)), 1.0)
    times = np.minimum(times, most)
    across = np.sqrt(times)
    heads = np.where(laws.doubles, np.maximum(sizes.heads, np.floor(sizes.heads * times)), sizes.heads)
    return Sizes(
        sizes.length_mm * across + step_mm * laws.steps,
        sizes.width_mm * across + step_mm * laws.steps,
        sizes.height_mm + np.where(laws.rises, step_mm, 0.0),
        heads,
    )


def skeleton_g(buoyant_g: float, seawater_kg_m3: float, mineral_g_cm3: float = ARAGONITE_G_CM3) -> float:
    """Return the dry mass of a skeleton from its weight in seawater [g].

    Parameters
    ----------
    buoyant_g : weight read in seawater, less that of the mount [g].
    seawater_kg_m3 : density of that water [kg/m³], 1000 to 1050.
    mineral_g_cm3 : density of the skeletal mineral [g/cm³].

    References
    ----------
    Spencer Davies 1989, Marine Biology 101:389–395 (from memory): dry = buoyant / (1 - water / mineral).
    """
    if not 990 < seawater_kg_m3 < 1060:
        raise ValueError(f"seawater weighs 990 to 1060 kg/m³, got {seawater_kg_m3}")
    return buoyant_g / (1 - seawater_kg_m3 / 1000 / mineral_g_cm3)


def _doubled(amount: float, doubling_d: float, days: float, most: float) -> float:
    return min(max(most, amount), amount * 2 ** (days / doubling_d))


def _spread_out(size: Size, times: float) -> Size:
    across = math.sqrt(times)
    heads = None if size.heads is None else max(size.heads, int(size.heads * times))
    return replace(size, length_mm=size.length_mm * across, width_mm=size.width_mm * across, heads=heads)

"""The three areas of a coral, never one for the other: live tissue, calcifying contour, footprint.

Nobody measures the area of a frag, so each follows from its length, width and height: a simple body is
laid round the piece and multiplied by a factor of its growth form, which carries the error.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import Band, exactly
from ramet.domain.words import Form
from ramet.science.spread import product

SEEN_FROM_ABOVE = frozenset({Form.PLATING, Form.ENCRUSTING, Form.TABLE, Form.MAT, Form.DISC})
"""Forms whose simple body is the ellipse seen from above."""
_HEADS = frozenset({Form.PHACELOID, Form.TUBULAR})
_THOMSEN_P = 1.6075


@dataclass(frozen=True, slots=True)
class Size:
    """A piece as mounted: longest way across, the way at right angles to it, and its height. Heads if any."""

    length_mm: float
    width_mm: float
    height_mm: float
    heads: int | None = None

    def __post_init__(self) -> None:
        for name in ("length_mm", "width_mm", "height_mm"):
            if not getattr(self, name) > 0:
                raise ValueError(f"{name} must be above 0, got {getattr(self, name)}")
        if self.heads is not None and self.heads < 1:
            raise ValueError(f"heads must be at least 1, got {self.heads}")


@dataclass(frozen=True, slots=True)
class FormFactors:
    """Areas per area of the simple body of a form; `head_area_cm2` is the ground that one head covers."""

    tissue_per_hull: Band
    contour_per_hull: Band
    footprint_per_ellipse: Band
    head_area_cm2: Band | None = None


@dataclass(frozen=True, slots=True)
class Areas:
    """Live surface that respires, surface that calcifies, ground it covers."""

    tissue_cm2: Band
    contour_cm2: Band
    footprint_cm2: Band


def ellipse_cm2(length_mm: float, width_mm: float) -> float:
    """Area of an ellipse from its two axes [cm²]."""
    return math.pi / 4 * length_mm * width_mm / 100


def dome_cm2_thomsen(length_mm: float, width_mm: float, height_mm: float) -> float:
    """Curved surface of half an ellipsoid that stands on its ellipse [cm²].

    Parameters: the two axes of the ellipse and the height above it [mm].

    Notes
    -----
    Knud Thomsen's approximation of the ellipsoid, error at most 1.1 % for near-round bodies (a tall or flat
    one: about 2 %); exact for a hemisphere.

    References
    ----------
    Thomsen 2004, formula given in Michon, "Surface area of an ellipsoid", numericana (from memory).
    """
    a, b, c = length_mm / 20, width_mm / 20, height_mm / 10
    p = _THOMSEN_P
    mean = ((a * b) ** p + (a * c) ** p + (b * c) ** p) / 3
    return float(2 * math.pi * mean ** (1 / p))


def hulls_cm2(is_flat: NDArray[np.bool_], sizes_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the area of the simple body of many pieces [cm²], flat ones as ellipses, others as domes.

    Parameters: `sizes_mm` has a row of lengths, one of widths and one of heights. For shares of one piece in
    another of its form, where the factor of the form falls out.
    """
    length, width, height = sizes_mm
    a, b, c, p = length / 20, width / 20, height / 10, _THOMSEN_P
    dome = 2 * math.pi * (((a * b) ** p + (a * c) ** p + (b * c) ** p) / 3) ** (1 / p)
    hulls: NDArray[np.float64] = np.where(is_flat, math.pi * a * b, dome)
    return hulls


def areas_of_form(form: Form, size: Size, factors: FormFactors) -> Areas:
    """Areas of a piece of a growth form.

    Notes
    -----
    Flat forms (plates, crusts, tables, mats, discs): hull is the ellipse seen from above. Forms of separate
    heads: the ground their heads cover, when heads were counted and a head's area is known. All others: a
    dome over the ellipse. A form factor of 1 makes a massive colony the dome itself, which differed from
    measured surfaces by 17 % on average (Courtney et al. 2007, as a hemisphere).
    """
    footprint = factors.footprint_per_ellipse.scaled(ellipse_cm2(size.length_mm, size.width_mm))
    hull = _hull_cm2(form, size, factors)
    return Areas(
        tissue_cm2=product(factors.tissue_per_hull, hull),
        contour_cm2=product(factors.contour_per_hull, hull),
        footprint_cm2=footprint,
    )


def _hull_cm2(form: Form, size: Size, factors: FormFactors) -> Band:
    ellipse = ellipse_cm2(size.length_mm, size.width_mm)
    if form in _HEADS and size.heads is not None and factors.head_area_cm2 is not None:
        return factors.head_area_cm2.scaled(size.heads)
    if form in SEEN_FROM_ABOVE or form in _HEADS:
        return exactly(ellipse)
    return exactly(dome_cm2_thomsen(size.length_mm, size.width_mm, size.height_mm))

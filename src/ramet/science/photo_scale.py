"""From a photo with a flat card of known size to millimetres: perspective, areas and their errors.

Arrays of points have a row a point: x to the right, y down; pixels in the photo, millimetres on the card.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

FLAT = 1e-9
"""An area below this share of its span squared is none: sums of products round differently by machine."""


@dataclass(frozen=True, slots=True)
class CardView:
    """How a photo sees the card's plane: `to_card` takes pixels to mm; `residual_mm` is how well (rms)."""

    to_card: Points
    residual_mm: float

    def on_card(self, pixels: Points) -> Points:
        """Return where pixels of the photo lie on the card [mm]."""
        return moved(self.to_card, pixels)

    def in_photo(self, card_mm: Points) -> Points:
        """Return the pixels of points on the card."""
        return moved(np.linalg.inv(self.to_card).astype(np.float64), card_mm)


@dataclass(frozen=True, slots=True)
class Outline:
    """What a closed outline on the card measures: area [cm²], around [mm], widest way and across it [mm]."""

    area_cm2: float
    perimeter_mm: float
    length_mm: float
    width_mm: float


def card_view(pixels: Points, card_mm: Points) -> CardView:
    """Return the view that takes these pixels to these points of the card best.

    Parameters
    ----------
    pixels, card_mm : at least 4 pairs, no three of four in line; 16 corners of four markers are usual.

    Notes
    -----
    Direct linear transformation on normalised points (Hartley 1997), algebraic least squares.

    References
    ----------
    Hartley and Zisserman, Multiple View Geometry, 2nd ed., algorithm 4.2 (from memory).
    """
    if len(pixels) < 4 or len(pixels) != len(card_mm):
        raise ValueError("four pairs of points or more")
    from_pixels, from_card = _normaliser(pixels), _normaliser(card_mm)
    source, goal = moved(from_pixels, pixels), moved(from_card, card_mm)
    rows = []
    for (x, y), (u, v) in zip(source, goal, strict=True):
        rows.append([-x, -y, -1, 0, 0, 0, u * x, u * y, u])
        rows.append([0, 0, 0, -x, -y, -1, v * x, v * y, v])
    flat = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    to_card = np.linalg.inv(from_card) @ flat @ from_pixels
    to_card = to_card / to_card[2, 2]
    off = moved(to_card, pixels) - card_mm
    return CardView(to_card, float(np.sqrt(np.mean(np.sum(off**2, axis=1)))))


def moved(transform: Points, points: Points) -> Points:
    """Return points under a projective transform of the plane (3 × 3)."""
    flat = np.c_[points, np.ones(len(points))] @ transform.T
    result: Points = flat[:, :2] / flat[:, 2:]
    return result


def outline(points_mm: Points) -> Outline:
    """Return what a closed outline measures; it must have three points or more and enclose something.

    Notes
    -----
    Area by the shoelace formula; the widest way is the largest distance of two points, the width that at
    right angles to it.
    """
    if len(points_mm) < 3:
        raise ValueError("three points or more")
    x, y = points_mm.T
    area = abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2
    if area <= FLAT * float(np.ptp(points_mm, axis=0).max()) ** 2:
        raise ValueError("an outline that encloses something")
    around = float(np.sum(np.hypot(*(np.roll(points_mm, -1, axis=0) - points_mm).T)))
    length, width = _extent(points_mm)
    return Outline(area / 100, around, length, width)


def raised_share(above_mm: float, camera_mm: float) -> float:
    """Return the factor by which the area of something above the card reads too large: (H / (H - h))².

    Parameters: its height above the card and the camera's [mm]; below the card the height is negative.
    """
    if not above_mm < camera_mm:
        raise ValueError("the tissue lies below the camera")
    return (camera_mm / (camera_mm - above_mm)) ** 2


def area_error(shares: tuple[float, ...]) -> float:
    """Return the relative error of an area from independent relative errors."""
    return math.sqrt(sum(share**2 for share in shares))


def _normaliser(points: Points) -> Points:
    """Return the transform that brings points to mean 0 and mean distance √2."""
    centre = points.mean(axis=0)
    scale = math.sqrt(2) / float(np.mean(np.hypot(*(points - centre).T)))
    return np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1]])


def _extent(points: Points) -> tuple[float, float]:
    angles = np.radians(np.arange(0, 180, 1.0))
    along = points @ np.array([np.cos(angles), np.sin(angles)])
    widths = along.max(axis=0) - along.min(axis=0)
    widest = int(np.argmax(widths))
    return float(widths[widest]), float(widths[(widest + 90) % 180])

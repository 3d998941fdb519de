"""Light at a place in a tank from a few readings: each lamp is a point whose beam falls off with angle.

Places are mm in tank axes, z up from the floor; light is PAR [µmol/m²/s] on a level sensor.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Point = tuple[float, float, float]
_STEEPEST_PER_M = 3.0
_STEPS = 121


@dataclass(frozen=True, slots=True)
class LampPoint:
    """A lamp at a place above the water; at `half_angle_deg` off its axis it gives half its intensity."""

    at_mm: Point
    half_angle_deg: float

    @property
    def exponent(self) -> float:
        """Power of the cosine that halves at the half angle; 60° is the even glow of a flat panel (1)."""
        return math.log(0.5) / math.log(math.cos(math.radians(self.half_angle_deg)))


@dataclass(frozen=True, slots=True)
class LampMap:
    """Lamps with their fitted strength, the loss in water [1/m], and the error of a value as a share."""

    lamps: tuple[LampPoint, ...]
    surface_mm: float
    strength: float
    loss_per_m: float
    error_share: float

    def par(self, place: Point) -> float:
        """Light at a place under water."""
        at = np.array([place], dtype=float)
        return float(self.strength * shape(self.lamps, self.surface_mm, at, self.loss_per_m)[0])


def shape(lamps: Sequence[LampPoint], surface_mm: float, places: Array, loss_per_m: float) -> Array:
    """Light per unit of strength at each place [1/m²], all lamps being equally strong.

    Notes
    -----
    E = Σ cosⁿθ · cosθ / r² · exp(-k d): inverse square, beam, level sensor, and the way d through water.
    Glass and rock reflect and shade; the fit to readings takes up the mean of that, its error the rest.
    """
    total = np.zeros(len(places))
    for lamp in lamps:
        away = np.asarray(lamp.at_mm) - places
        distance = np.sqrt((away**2).sum(axis=1))
        cosine = np.clip(away[:, 2] / distance, 1e-6, 1.0)
        in_water_m = np.maximum(surface_mm - places[:, 2], 0.0) / cosine / 1000
        total += cosine ** (lamp.exponent + 1) / (distance / 1000) ** 2 * np.exp(-loss_per_m * in_water_m)
    return total


def fit_lamps(
    lamps: Sequence[LampPoint],
    surface_mm: float,
    readings: Sequence[tuple[Point, float]],
    usual_loss_per_m: float,
    least_error: float,
) -> LampMap:
    """Fit the lamps to readings on the log scale.

    Two readings fix the strength alone, at the usual loss; from three on the loss is fitted as well,
    between 0 and 3 per metre. Raises ValueError for fewer than two readings.
    """
    if len(readings) < 2:
        raise ValueError("at least 2 readings")
    places = np.array([place for place, _ in readings], dtype=float)
    seen = np.log([par for _, par in readings])
    losses = np.linspace(0, _STEEPEST_PER_M, _STEPS) if len(readings) > 2 else np.array([usual_loss_per_m])
    left = [seen - np.log(shape(lamps, surface_mm, places, loss)) for loss in losses]
    best = int(np.argmin([float(np.var(one)) for one in left]))
    free = len(readings) - (2 if len(readings) > 2 else 1)
    spread = math.sqrt(float(np.var(left[best])) * len(readings) / free)
    return LampMap(
        tuple(lamps),
        surface_mm,
        math.exp(float(np.mean(left[best]))),
        float(losses[best]),
        max(least_error, spread),
    )

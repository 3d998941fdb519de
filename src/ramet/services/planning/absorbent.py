"""Absorbent in each liner: so much that it takes the water of every bag that might leak."""

import math

from ramet.reference.tables import Reference


def absorbent_g(water_l: float, reference: Reference) -> int:
    """Return the dry mass of absorbent for some water [g], rounded up."""
    takes = reference.parameter("absorbent_per_water").band.typical
    return math.ceil(water_l * takes * reference.parameter("absorbent_g_per_l").band.typical)

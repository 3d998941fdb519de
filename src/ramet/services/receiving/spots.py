"""Places to glue to in a receiving tank, as far as its file tells."""

import math
from dataclasses import dataclass

from ramet.formats.shipment import Tank, Zone
from ramet.reference.tables import Reference

SPOTS_MOST = 240
"""More spots than this only cost time: the grid is then coarser."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place, in mm from the front left corner, with the zone it lies in (None: no zones are known)."""

    at_mm: tuple[int, int]
    zone: Zone | None


def spots(reference: Reference, tank: Tank) -> tuple[Spot, ...]:
    """Return the spots of a tank.

    The file gives each zone's area, not its place: zones stand side by side from the left in the order of
    the file, each over its share of the tank's length and as deep as its area asks, in the middle of the
    tank's width. A strip along the glass stays free. A tank without zones is one zone of any light.
    """
    edge = reference.parameter("placement_edge").band.typical
    length, width = max(0.0, tank.length_mm - 2 * edge), max(0.0, tank.width_mm - 2 * edge)
    areas: list[tuple[Zone | None, float]] = [(zone, zone.area_cm2 * 100) for zone in tank.zone]
    areas = areas or [(None, length * width)]
    total = sum(area for _, area in areas)
    if total <= 0 or length <= 0 or width <= 0:
        return ()
    depth = min(width, total / length)
    pitch = max(reference.parameter("placement_pitch").band.typical, math.sqrt(length * depth / SPOTS_MOST))
    front, left, found = edge + (width - depth) / 2, edge, []
    for zone, area in areas:
        stretch = length * area / total
        for x in _middles(stretch, pitch):
            for y in _middles(depth, pitch):
                found.append(Spot((round(left + x), round(front + y)), zone))
        left += stretch
    return tuple(found)


def _middles(stretch_mm: float, pitch_mm: float) -> list[float]:
    """Middles of as many equal cells as fit, none narrower than the pitch unless there is only one."""
    cells = max(1, math.floor(stretch_mm / pitch_mm))
    return [(cell + 0.5) * stretch_mm / cells for cell in range(cells)] if stretch_mm > 0 else []

"""Places to glue to in a receiving tank, as far as its file tells."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ramet.formats.receiving import Tank, Zone
from ramet.reference.tables import Reference
from ramet.science.lamps import LampMap
from ramet.services.receiving.light_map import Light, lamp_map, light_at

SPOTS_MOST = 240
"""More spots than this only cost time: a grid is then coarser."""
Rect = tuple[float, float, float, float]
"""Left, front, right and back of a stretch of floor [mm]."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place: mm from the front left corner, height above the floor, its zone, light and flow if known."""

    at_mm: tuple[int, int]
    height_mm: int = 0
    name: str = ""
    zone: Zone | None = None
    light: Light | None = None
    flow_cm_s: float | None = None

    @property
    def place_mm(self) -> tuple[int, int, int]:
        """The place with its height."""
        return (*self.at_mm, self.height_mm)

    @property
    def par(self) -> float | None:
        """Light where it is known as one value, not as the range of a zone."""
        light = self.light
        return light.low if light is not None and light.low == light.high else None

    @property
    def words(self) -> str:
        """What to call it: its own name, its zone, or the tank."""
        return self.name or (self.zone.name if self.zone else "tank")


def spots(reference: Reference, tank: Tank) -> tuple[Spot, ...]:
    """Return the spots of a tank: those of its file, else a grid over its rock, else over its zones.

    A zone without corners has an area but no place: such zones stand side by side from the left in the order
    of the file, each over its share of the tank's length and as deep as its area asks, in the middle of the
    tank's width. A strip along the glass stays free. A tank without zones is one zone of any light.
    """
    lamps = lamp_map(reference, tank)
    if tank.spot:
        return tuple(_given(tank, lamps))
    if tank.rock_heights_mm:
        return tuple(_on_rock(reference, tank, lamps))
    found: list[Spot] = []
    rects = zone_rects(reference, tank)
    ground = sum((right - left) * (back - front) for _, (left, front, right, back) in rects)
    for zone, rect in rects:
        for at in _grid(reference, rect, ground):
            found.append(_spot(tank, lamps, at, 0 if zone is None else zone.top_mm, zone))
    return tuple(found)


def zone_rects(reference: Reference, tank: Tank) -> list[tuple[Zone | None, Rect]]:
    """Return each zone with the ground it covers, given or laid out."""
    edge = reference.parameter("placement_edge").band.typical
    length, width = max(0.0, tank.length_mm - 2 * edge), max(0.0, tank.width_mm - 2 * edge)
    if tank.zone and all(zone.from_mm and zone.to_mm for zone in tank.zone):
        return [(zone, (*zone.from_mm, *zone.to_mm)) for zone in tank.zone if zone.from_mm and zone.to_mm]
    areas: list[tuple[Zone | None, float]] = [(zone, zone.area_cm2 * 100) for zone in tank.zone]
    areas = areas or [(None, length * width)]
    total = sum(area for _, area in areas)
    if total <= 0 or length <= 0 or width <= 0:
        return []
    depth = min(width, total / length)
    front, left, found = edge + (width - depth) / 2, edge, []
    for zone, area in areas:
        right = left + length * area / total
        found.append((zone, (left, front, right, front + depth)))
        left = right
    return found


def from_side_mm(tank: Tank, side: str, at_mm: tuple[float, float]) -> float:
    """Return how far a place is from one side of the tank."""
    x, y = at_mm
    return {"front": y, "back": tank.width_mm - y, "left": x, "right": tank.length_mm - x}[side]


def _given(tank: Tank, lamps: LampMap | None) -> Iterator[Spot]:
    zones = {zone.name: zone for zone in tank.zone}
    for one in tank.spot:
        zone = zones[one.zone] if one.zone else _zone_at(tank, one.at_mm)
        flow = one.flow_cm_s if one.flow_cm_s is not None else (zone.flow_cm_s if zone else None)
        light = light_at(lamps, (*one.at_mm, one.height_mm), one.par, zone)
        at = (round(one.at_mm[0]), round(one.at_mm[1]))
        yield Spot(at, round(one.height_mm), one.name, zone, light, flow)


def _on_rock(reference: Reference, tank: Tank, lamps: LampMap | None) -> Iterator[Spot]:
    """A grid over the cells of the height map, whose first row is the back."""
    edge = reference.parameter("placement_edge").band.typical
    rows = tank.rock_heights_mm
    across, deep = tank.length_mm / len(rows[0]), tank.width_mm / len(rows)
    inner = (edge, edge, tank.length_mm - edge, tank.width_mm - edge)
    ground = max(0.0, inner[2] - inner[0]) * max(0.0, inner[3] - inner[1])
    if ground <= 0:
        return
    for at in _grid(reference, inner, ground):
        row = len(rows) - 1 - min(len(rows) - 1, int(at[1] / deep))
        height = rows[row][min(len(rows[0]) - 1, int(at[0] / across))]
        yield _spot(tank, lamps, at, height, _zone_at(tank, at))


def _spot(
    tank: Tank, lamps: LampMap | None, at: tuple[float, float], height: float, zone: Zone | None
) -> Spot:
    light = light_at(lamps, (*at, height), None, zone)
    place = (round(at[0]), round(at[1]))
    return Spot(place, round(height), "", zone, light, zone.flow_cm_s if zone else None)


def _zone_at(tank: Tank, at: Sequence[float]) -> Zone | None:
    """Return the first zone whose corners enclose a place."""
    for zone in tank.zone:
        if zone.from_mm is None or zone.to_mm is None:
            continue
        if zone.from_mm[0] <= at[0] <= zone.to_mm[0] and zone.from_mm[1] <= at[1] <= zone.to_mm[1]:
            return zone
    return None


def _grid(reference: Reference, rect: Rect, ground_mm2: float) -> Iterator[tuple[float, float]]:
    """Middles of a grid over a rectangle; coarser when the whole ground would hold too many."""
    least = reference.parameter("placement_pitch").band.typical
    pitch = max(least, math.sqrt(ground_mm2 / SPOTS_MOST))
    left, front, right, back = rect
    for x in _middles(right - left, pitch):
        for y in _middles(back - front, pitch):
            yield left + x, front + y


def _middles(stretch_mm: float, pitch_mm: float) -> list[float]:
    """Middles of as many equal cells as fit, none narrower than the pitch unless there is only one."""
    cells = max(1, math.floor(stretch_mm / pitch_mm))
    return [(cell + 0.5) * stretch_mm / cells for cell in range(cells)] if stretch_mm > 0 else []

"""How well each spot suits each piece, in whole points: light, height against the viewer, flow."""

from collections.abc import Sequence

from ramet.domain.band import Band
from ramet.formats.receiving import Tank
from ramet.reference.tables import Reference
from ramet.services.receiving.bodies import PlacedPiece
from ramet.services.receiving.light_map import Light
from ramet.services.receiving.spots import Spot, from_side_mm

LIGHT_POINTS, DEPTH_POINTS, FLOW_POINTS = 60, 25, 15
"""What a spot is worth: light near the middle of the genus range, tall pieces behind, flow in range."""


def points_of(
    reference: Reference, tank: Tank, pieces: Sequence[PlacedPiece], places: Sequence[Spot]
) -> list[dict[int, int]]:
    """Return the points of each spot for each piece; a spot whose light it can't use is left out."""
    tall = _tallness(pieces)
    behind = _behindness(tank, places)
    return [_points(reference, piece, tall[piece.piece], places, behind) for piece in pieces]


def light_fit(usable: Band, light: Light) -> float:
    """Return 1 where the typical light of the genus is had, less the farther off; 0 out of its range."""
    if light.low > usable.high or light.high < usable.low:
        return 0.0
    nearest = min(max(usable.typical, light.low), light.high)
    room = (usable.high - usable.typical) if nearest > usable.typical else (usable.typical - usable.low)
    if nearest == usable.typical:
        return 1.0
    return max(0.1, 1 - 0.9 * abs(nearest - usable.typical) / max(1e-9, room))


def _points(
    reference: Reference, piece: PlacedPiece, tall: float, places: Sequence[Spot], behind: Sequence[float]
) -> dict[int, int]:
    usable = reference.trait(piece.taxon, piece.form, "light_par").band
    flow = reference.trait(piece.taxon, piece.form, "flow_cm_s").band
    points = {}
    for index, spot in enumerate(places):
        light = 1.0 if spot.light is None else light_fit(usable, spot.light)
        if light <= 0:
            continue
        moved = 1.0 if spot.flow_cm_s is None else float(flow.low <= spot.flow_cm_s <= flow.high)
        points[index] = round(
            LIGHT_POINTS * light + DEPTH_POINTS * (1 - abs(behind[index] - tall)) + FLOW_POINTS * moved
        )
    return points


def _tallness(pieces: Sequence[PlacedPiece]) -> dict[str, float]:
    """Place of each piece by height: 0 for the lowest, 1 for the highest."""
    ordered = sorted(pieces, key=lambda piece: (piece.size_mm[2], piece.piece))
    last = max(1, len(ordered) - 1)
    return {piece.piece: index / last for index, piece in enumerate(ordered)}


def _behindness(tank: Tank, places: Sequence[Spot]) -> list[float]:
    """How far each spot lies from the nearest side it is looked at from: 0 in front, 1 farthest."""
    far = [min(from_side_mm(tank, side, spot.at_mm) for side in tank.viewed_from) for spot in places]
    nearest, farthest = min(far, default=0.0), max(far, default=1.0)
    return [(one - nearest) / max(1.0, farthest - nearest) for one in far]

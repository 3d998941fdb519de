"""An assignment of spots in rows and words: in what order to glue, what stays free, who has no place."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import FreeSpot, Placement
from ramet.optimise.placement_problem import Room, SpotProblem
from ramet.reference.tables import Reference
from ramet.services.receiving.bodies import Body, PlacedPiece, gap_mm
from ramet.services.receiving.spots import Spot, from_side_mm


@dataclass(frozen=True, slots=True)
class Standing:
    """Pieces on their spots, with all that decided it."""

    reference: Reference
    tank: Tank
    pieces: Sequence[PlacedPiece]
    bodies: Sequence[Body]
    places: Sequence[Spot]
    problem: SpotProblem
    spot_of: Mapping[int, int]

    def edge_to_edge_mm(self, one: int, other: int) -> float:
        """Distance between the edges of two pieces as they stand."""
        here, there = (self.places[self.spot_of[it]].place_mm for it in (one, other))
        return math.dist(here, there) - self.bodies[one].half_mm - self.bodies[other].half_mm


def glued(standing: Standing) -> tuple[Placement, ...]:
    """Return the pieces that stand, in the order of gluing.

    From the far side to the one where people stand, so that no arm reaches over what is glued already; in a
    row the taller first.
    """
    places, pieces, side = standing.places, standing.pieces, standing.tank.viewed_from[0]

    def far(i: int) -> float:
        return from_side_mm(standing.tank, side, places[standing.spot_of[i]].at_mm)

    order = sorted(standing.spot_of, key=lambda i: (-far(i), -pieces[i].size_mm[2], i))
    return tuple(_row(standing, i, number) for number, i in enumerate(order, start=1))


def free_spots(standing: Standing) -> tuple[FreeSpot, ...]:
    """Return the spots on which nothing stands, the roomiest first.

    `room_mm` is what a further piece may take from its middle, reach and growth included, before it meets
    the reach and growth of what stands there.
    """
    taken = set(standing.spot_of.values())
    found = [_free(standing, spot) for index, spot in enumerate(standing.places) if index not in taken]
    return tuple(sorted((one for one in found if one.room_mm > 0), key=lambda one: (-one.room_mm, one.at_mm)))


def misplaced(standing: Standing) -> dict[str, str]:
    """Return the pieces for which no spot was found, each with the number that binds."""
    return {
        piece.piece: _reason(standing, i)
        for i, piece in enumerate(standing.pieces)
        if i not in standing.spot_of
    }


def _row(standing: Standing, i: int, order: int) -> Placement:
    spot, body = standing.places[standing.spot_of[i]], standing.bodies[i]
    gap, note = _nearest(standing, i)
    return Placement(
        piece=standing.pieces[i].piece,
        zone=spot.zone.name if spot.zone else "tank",
        at_mm=spot.at_mm,
        gap_mm=gap,
        order=order,
        note="; ".join(part for part in (note, _flow_words(standing, i, spot)) if part),
        spot=spot.name,
        height_mm=spot.height_mm,
        tall_mm=round(standing.pieces[i].size_mm[2]),
        radius_mm=math.ceil(body.half_mm),
        grows_mm=math.ceil(body.growth_mm),
        reach_mm=math.ceil(body.reach_mm),
        soft=body.soft,
        par=None if spot.par is None else round(spot.par, 1),
        flow_cm_s=spot.flow_cm_s,
    )


def _flow_words(standing: Standing, i: int, spot: Spot) -> str:
    piece = standing.pieces[i]
    wanted = standing.reference.trait(piece.taxon, piece.form, "flow_cm_s").band
    if spot.flow_cm_s is None or wanted.low <= spot.flow_cm_s <= wanted.high:
        return ""
    much = "strong" if spot.flow_cm_s > wanted.high else "weak"
    return f"flow {spot.flow_cm_s:g} cm/s is {much}: it wants {wanted.low:g}–{wanted.high:g}"


def _nearest(standing: Standing, i: int) -> tuple[int, str]:
    """Return the gap edge to edge to the nearest piece of another strain, and what is asked of it."""
    bodies = standing.bodies
    gaps = [
        (standing.edge_to_edge_mm(i, j), j)
        for j in standing.spot_of
        if j != i and bodies[j].strain != bodies[i].strain
    ]
    if not gaps:
        return 0, "no neighbour of another strain"
    gap, j = min(gaps)
    asked = math.ceil(gap_mm(standing.reference, bodies[i], bodies[j]))
    return math.floor(gap), f"nearest {standing.pieces[j].piece}, {asked} mm asked"


def _free(standing: Standing, spot: Spot) -> FreeSpot:
    room = min(
        (
            math.dist(spot.place_mm, standing.places[at].place_mm)
            - standing.bodies[i].half_mm
            - standing.bodies[i].growth_mm
            - standing.bodies[i].reach_mm
            for i, at in standing.spot_of.items()
        ),
        default=min(standing.tank.length_mm, standing.tank.width_mm) / 2,
    )
    return FreeSpot(
        spot=spot.name,
        zone=spot.zone.name if spot.zone else "tank",
        at_mm=spot.at_mm,
        height_mm=spot.height_mm,
        par=None if spot.par is None else round(spot.par, 1),
        flow_cm_s=spot.flow_cm_s,
        room_mm=max(0, math.floor(room)),
    )


def _reason(standing: Standing, i: int) -> str:
    problem = standing.problem
    if not standing.places:
        return "the tank has no room for a single spot"
    if not problem.items[i].points:
        return _dark_or_bright(standing, standing.pieces[i])
    room, spot_of = Room(problem), standing.spot_of
    short, j = min(
        max(
            (problem.apart_mm[i][j] - math.dist(problem.spots_mm[spot], problem.spots_mm[at]), j)
            for j, at in spot_of.items()
        )
        for spot in problem.items[i].points
    )
    name = standing.pieces[j].piece
    if short <= 0:
        # Far enough from all on some spot: what rules it out there drifts with the water.
        spot = next(s for s in problem.items[i].points if not np.isin(s, list(spot_of.values())))
        j = next((j for j, at in spot_of.items() if room.clash(j, i)[at, spot]), j)
        return (
            f"wherever it is far enough from the others, water runs from {_soft_first(standing, i, j)} "
            "within the stretch that a soft coral harms"
        )
    return (
        f"it needs {problem.apart_mm[i][j]} mm from the middle of {name} over the horizon; the best spot in "
        f"its light is {math.ceil(short)} mm short"
    )


def _soft_first(standing: Standing, i: int, j: int) -> str:
    one, other = standing.pieces[i].piece, standing.pieces[j].piece
    return f"it on to {other}" if standing.bodies[i].soft else f"{other} on to {one}"


def _dark_or_bright(standing: Standing, piece: PlacedPiece) -> str:
    par = standing.reference.trait(piece.taxon, piece.form, "light_par").band
    wants = f"it needs {par.low:.0f}–{par.high:.0f} µmol m⁻² s⁻¹"
    if standing.tank.zone and not standing.tank.spot and not standing.tank.lamp:
        zones = (f"{zone.name} {zone.par_low:.0f}–{zone.par_high:.0f}" for zone in standing.tank.zone)
        return f"{wants}; the zones have {', '.join(zones)}"
    lights = [spot.light for spot in standing.places if spot.light is not None]
    low, high = min(one.low for one in lights), max(one.high for one in lights)
    return f"{wants}; no spot has that, they have {low:.0f}–{high:.0f}"

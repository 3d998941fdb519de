"""Where each piece stands in the receiving tank: in light it can use, out of reach of its neighbours.

Two pieces of different strains keep, edge to edge, the reach of the longer-armed one and what both grow over
the horizon; a soft coral keeps its own distance from stony ones. Pieces of one strain may fuse.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ramet.domain.words import BagClass, Form, Rank
from ramet.formats.plan import Placement
from ramet.formats.shipment import Tank
from ramet.optimise.placement import SpotResult, assign
from ramet.optimise.placement_problem import Item, SpotProblem
from ramet.optimise.problem import Budget, GoalValue
from ramet.reference.tables import Reference
from ramet.services.receiving.spots import Spot, spots

RANKS = {Rank.MUST: 0, Rank.WANT: 1, Rank.FILLER: 2}
LIGHT_POINTS, DEPTH_POINTS, FLOW_POINTS = 60, 25, 15
"""What a spot is worth: light near the middle of the genus range, tall pieces behind, flow in range."""


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A piece to place. `size_mm` is length, width and height."""

    piece: str
    strain: str
    taxon: str
    form: Form
    size_mm: tuple[float, float, float]
    rank: Rank


@dataclass(frozen=True, slots=True)
class Placing:
    """The placement of every piece; `at_mm` is None for those in `unplaced`, each with its reason.

    `goals` tell how good it is: how many of each rank stand, then points, with bounds. `free` is the
    number of spots on which nothing stands.
    """

    placements: tuple[Placement, ...]
    unplaced: tuple[tuple[str, str], ...]
    goals: tuple[GoalValue, ...]
    free: int


@dataclass(frozen=True, slots=True)
class _Body:
    """What keeps others away: half of the longest side, growth over the horizon, reach; all in mm."""

    half_mm: float
    growth_mm: float
    reach_mm: float
    soft: bool
    strain: str


def place(
    reference: Reference, tank: Tank, pieces: Sequence[PlacedPiece], budget_s: float, seed: int
) -> Placing:
    """Return where the pieces go; when not all fit, the most important ones first.

    `budget_s` are deterministic seconds for the solver; with 0 the quick assignment stands.
    """
    places = spots(reference, tank)
    bodies = [_body(reference, piece) for piece in pieces]
    apart = tuple(tuple(_apart_mm(reference, one, other) for other in bodies) for one in bodies)
    tall = _tallness(pieces)
    items = tuple(
        Item(piece.piece, RANKS[piece.rank], _points(reference, tank, piece, tall[piece.piece], places))
        for piece in pieces
    )
    problem = SpotProblem(items, tuple(spot.at_mm for spot in places), apart)
    result = assign(problem, Budget(budget_s, seed))
    return _answer(reference, tank, pieces, bodies, places, problem, result)


def _body(reference: Reference, piece: PlacedPiece) -> _Body:
    def typical(name: str) -> float:
        return reference.trait(piece.taxon, piece.form, name).band.typical

    genus = reference.genus(piece.taxon)
    horizon_yr = reference.parameter("placement_horizon").band.typical / 365.25
    return _Body(
        half_mm=max(piece.size_mm[:2]) / 2,
        growth_mm=10 * typical("extension_cm_yr") * horizon_yr,
        reach_mm=10 * typical("reach_cm"),
        soft=genus is not None and genus.bag_class is BagClass.SOFT,
        strain=piece.strain,
    )


def _gap_mm(reference: Reference, one: _Body, other: _Body) -> float:
    """Gap asked for between two edges today."""
    if one.strain == other.strain:
        return 0.0
    reach = max(one.reach_mm, other.reach_mm)
    if one.soft != other.soft:
        reach = max(reach, 10 * reference.parameter("soft_spread").band.typical)
    return reach + one.growth_mm + other.growth_mm


def _apart_mm(reference: Reference, one: _Body, other: _Body) -> int:
    return math.ceil(one.half_mm + other.half_mm + _gap_mm(reference, one, other))


def _tallness(pieces: Sequence[PlacedPiece]) -> dict[str, float]:
    """Place of each piece by height: 0 for the lowest, 1 for the highest."""
    ordered = sorted(pieces, key=lambda piece: (piece.size_mm[2], piece.piece))
    last = max(1, len(ordered) - 1)
    return {piece.piece: index / last for index, piece in enumerate(ordered)}


def _points(
    reference: Reference, tank: Tank, piece: PlacedPiece, tall: float, places: Sequence[Spot]
) -> dict[int, int]:
    """Points of each spot whose zone has light that the piece can use."""
    par = reference.trait(piece.taxon, piece.form, "light_par").band
    flow = reference.trait(piece.taxon, piece.form, "flow_cm_s").band
    depths = [spot.at_mm[1] for spot in places]
    front, back = min(depths, default=0), max(depths, default=1)
    points = {}
    for index, spot in enumerate(places):
        light = 1.0 if spot.zone is None else _fit(par.low, par.typical, par.high, *_par(spot))
        if light <= 0:
            continue
        known = spot.zone is not None and spot.zone.flow_cm_s is not None
        moved = 1.0 if not known else float(flow.low <= _flow(spot) <= flow.high)
        behind = (spot.at_mm[1] - front) / max(1, back - front)
        points[index] = round(
            LIGHT_POINTS * light + DEPTH_POINTS * (1 - abs(behind - tall)) + FLOW_POINTS * moved
        )
    return points


def _par(spot: Spot) -> tuple[float, float]:
    assert spot.zone is not None
    return spot.zone.par_low, spot.zone.par_high


def _flow(spot: Spot) -> float:
    assert spot.zone is not None
    assert spot.zone.flow_cm_s is not None
    return spot.zone.flow_cm_s


def _fit(low: float, typical: float, high: float, par_low: float, par_high: float) -> float:
    """Return 1 when the zone holds the typical light, less the farther off; 0 when it has none in range."""
    if par_low > high or par_high < low:
        return 0.0
    nearest = min(max(typical, par_low), par_high)
    room = (high - typical) if nearest > typical else (typical - low)
    return 1.0 if nearest == typical else max(0.1, 1 - 0.9 * abs(nearest - typical) / max(1e-9, room))


def _answer(
    reference: Reference,
    tank: Tank,
    pieces: Sequence[PlacedPiece],
    bodies: Sequence[_Body],
    places: Sequence[Spot],
    problem: SpotProblem,
    result: SpotResult,
) -> Placing:
    # Back to front, so that no arm reaches over what is glued already; the lower the later.
    standing = sorted(
        result.spot_of, key=lambda i: (-places[result.spot_of[i]].at_mm[1], -pieces[i].size_mm[2], i)
    )
    placed = []
    for order, i in enumerate(standing, 1):
        spot = places[result.spot_of[i]]
        gap, note = _nearest(reference, i, bodies, pieces, places, result.spot_of)
        placed.append(
            Placement(
                piece=pieces[i].piece, zone=_name(spot), at_mm=spot.at_mm, gap_mm=gap, order=order, note=note
            )
        )
    unplaced = []
    for i, piece in enumerate(pieces):
        if i in result.spot_of:
            continue
        reason = _reason(reference, tank, piece, i, pieces, places, problem, result.spot_of)
        unplaced.append((piece.piece, reason))
        placed.append(
            Placement(
                piece=piece.piece,
                zone="",
                at_mm=None,
                gap_mm=0,
                order=len(placed) + 1,
                note=f"no place: {reason}",
            )
        )
    free = len(places) - len(result.spot_of)
    return Placing(tuple(placed), tuple(unplaced), result.goals, free)


def _name(spot: Spot) -> str:
    return "tank" if spot.zone is None else spot.zone.name


def _nearest(
    reference: Reference,
    i: int,
    bodies: Sequence[_Body],
    pieces: Sequence[PlacedPiece],
    places: Sequence[Spot],
    spot_of: Mapping[int, int],
) -> tuple[int, str]:
    """Return the gap edge to edge to the nearest piece of another strain, and what is asked of it."""
    gaps = [
        (
            math.dist(places[spot_of[i]].at_mm, places[spot_of[j]].at_mm)
            - bodies[i].half_mm
            - bodies[j].half_mm,
            j,
        )
        for j in spot_of
        if j != i and bodies[j].strain != bodies[i].strain
    ]
    if not gaps:
        return 0, "no neighbour of another strain"
    gap, j = min(gaps)
    asked = math.ceil(_gap_mm(reference, bodies[i], bodies[j]))
    return math.floor(gap), f"nearest is {pieces[j].piece}; {asked} mm are asked between them"


def _reason(
    reference: Reference,
    tank: Tank,
    piece: PlacedPiece,
    i: int,
    pieces: Sequence[PlacedPiece],
    places: Sequence[Spot],
    problem: SpotProblem,
    spot_of: Mapping[int, int],
) -> str:
    if not places:
        return "the tank has no room for a single spot"
    if not problem.items[i].points:
        par = reference.trait(piece.taxon, piece.form, "light_par").band
        offers = ", ".join(f"{zone.name} {zone.par_low:.0f}–{zone.par_high:.0f}" for zone in tank.zone)
        return f"it needs {par.low:.0f}–{par.high:.0f} µmol m⁻² s⁻¹; the zones have {offers}"
    short, j = min(
        max(
            (problem.apart_mm[i][j] - math.dist(problem.spots_mm[spot], problem.spots_mm[at]), j)
            for j, at in spot_of.items()
        )
        for spot in problem.items[i].points
    )
    apart = problem.apart_mm[i][j]
    return (
        f"it needs {apart} mm from the middle of {pieces[j].piece} over the horizon; the best spot in its "
        f"light is {math.ceil(short)} mm short"
    )

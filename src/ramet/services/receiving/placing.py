"""Where each piece stands in the receiving tank: in light it can use, out of reach of its neighbours.

Two pieces of different strains keep, edge to edge, the reach of the longer-armed one and what both grow over
the horizon; a soft coral keeps its own distance from stony ones, and none stands up-current of one. Pieces of
one strain may fuse.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ramet.domain.words import Rank
from ramet.formats.receiving import Tank
from ramet.formats.tank_report import FreeSpot, Placement
from ramet.optimise.placement import assign
from ramet.optimise.placement_problem import Item, SpotProblem
from ramet.optimise.problem import Budget, GoalValue
from ramet.reference.tables import Reference
from ramet.services.receiving.bodies import PlacedPiece, apart_mm, body_of, stream
from ramet.services.receiving.placed import Standing, free_spots, glued, misplaced
from ramet.services.receiving.spots import Spot, spots
from ramet.services.receiving.suiting import points_of

__all__ = ["PlacedPiece", "Placing", "place"]

RANKS = {Rank.MUST: 0, Rank.WANT: 1, Rank.FILLER: 2}


@dataclass(frozen=True, slots=True)
class Placing:
    """The placement of every piece; `at_mm` is None for those in `unplaced`, each with its reason.

    `goals` tell how good it is: how many of each rank stand, then points, with bounds. `free` are the
    spots on which nothing stands.
    """

    placements: tuple[Placement, ...]
    unplaced: tuple[tuple[str, str], ...]
    goals: tuple[GoalValue, ...]
    free: tuple[FreeSpot, ...]


def place(
    reference: Reference,
    tank: Tank,
    pieces: Sequence[PlacedPiece],
    budget_s: float,
    seed: int,
    kept: Mapping[str, tuple[int, int]] | None = None,
) -> Placing:
    """Return where the pieces go; when not all fit, the most important ones first.

    `budget_s` are deterministic seconds for the solver; with 0 the quick assignment stands. Pieces that are
    `kept` may have no other place than the one given.
    """
    places = spots(reference, tank)
    bodies = [body_of(reference, piece) for piece in pieces]
    items = tuple(
        Item(piece.piece, RANKS[piece.rank], _kept(points, places, (kept or {}).get(piece.piece)))
        for piece, points in zip(pieces, points_of(reference, tank, pieces, places), strict=True)
    )
    apart = tuple(tuple(apart_mm(reference, one, other) for other in bodies) for one in bodies)
    drift = stream(reference, tank, bodies)
    problem = SpotProblem(items, tuple(spot.place_mm for spot in places), apart, drift)
    result = assign(problem, Budget(budget_s, seed))
    standing = Standing(reference, tank, pieces, bodies, places, problem, result.spot_of)
    placed, left = glued(standing), misplaced(standing)
    return Placing(
        (*placed, *_nowhere(left, len(placed))), tuple(left.items()), result.goals, free_spots(standing)
    )


def _kept(
    points: Mapping[int, int], places: Sequence[Spot], at_mm: tuple[int, int] | None
) -> Mapping[int, int]:
    """Return the points of the spots at one place alone; all when the piece may go anywhere."""
    if at_mm is None:
        return points
    return {spot: worth for spot, worth in points.items() if places[spot].at_mm == at_mm}


def _nowhere(left: dict[str, str], placed: int) -> tuple[Placement, ...]:
    return tuple(
        Placement(piece=piece, zone="", at_mm=None, gap_mm=0, order=order, note=f"no place: {reason}")
        for order, (piece, reason) in enumerate(left.items(), start=placed + 1)
    )

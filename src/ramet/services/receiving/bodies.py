"""What keeps corals apart in a tank: size, growth, reach, and what drifts off soft ones."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ramet.domain.words import BagClass, Form, Rank
from ramet.formats.receiving import Tank
from ramet.optimise.placement_problem import Stream
from ramet.reference.tables import Reference

_ALONG = {"left": (1, 0), "right": (-1, 0), "front": (0, 1), "back": (0, -1)}
"""Which way water goes that comes from a side."""
_MM_PER_CM = 10
_DAYS_A_YEAR = 365.25


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
class Body:
    """What keeps others away: half of the longest side, growth over the horizon, reach; all in mm."""

    half_mm: float
    growth_mm: float
    reach_mm: float
    soft: bool
    strain: str


def body_of(reference: Reference, piece: PlacedPiece) -> Body:
    """Return what a piece needs round it, by the typical traits of its genus and form."""

    def typical(name: str) -> float:
        return reference.trait(piece.taxon, piece.form, name).band.typical

    genus = reference.genus(piece.taxon)
    horizon_yr = reference.parameter("placement_horizon").band.typical / _DAYS_A_YEAR
    return Body(
        half_mm=max(piece.size_mm[:2]) / 2,
        growth_mm=_MM_PER_CM * typical("extension_cm_yr") * horizon_yr,
        reach_mm=_MM_PER_CM * typical("reach_cm"),
        soft=genus is not None and genus.bag_class is BagClass.SOFT,
        strain=piece.strain,
    )


def gap_mm(reference: Reference, one: Body, other: Body) -> float:
    """Gap asked for between two edges today; none between pieces of one strain, which may fuse."""
    if one.strain == other.strain:
        return 0.0
    reach = max(one.reach_mm, other.reach_mm)
    if one.soft != other.soft:
        reach = max(reach, _MM_PER_CM * reference.parameter("soft_spread").band.typical)
    return reach + one.growth_mm + other.growth_mm


def apart_mm(reference: Reference, one: Body, other: Body) -> int:
    """Least distance between the middles of two pieces."""
    return math.ceil(one.half_mm + other.half_mm + gap_mm(reference, one, other))


def stream(reference: Reference, tank: Tank, bodies: Sequence[Body]) -> Stream | None:
    """Return what drifts off soft corals on to stony ones; None when the water has no one direction."""
    along = _ALONG.get(tank.flow_from or "")
    pairs = frozenset(
        (i, j)
        for i, one in enumerate(bodies)
        for j, other in enumerate(bodies)
        if one.soft and not other.soft
    )
    if along is None or not pairs:
        return None
    return Stream(
        along=along,
        length_mm=round(reference.parameter("soft_stream_mm").band.typical),
        side_mm=round(reference.parameter("soft_stream_side_mm").band.typical),
        pairs=pairs,
    )

"""What may be cut from a mother for a line: how many pieces, how big, without hurting her."""

import math
from dataclasses import dataclass

from ramet.domain.piece import Piece
from ramet.domain.words import Form
from ramet.formats.shipment import Request
from ramet.services.calendar.healing import latest_cut_on
from ramet.services.growing.piece_areas import areas
from ramet.services.planning.gather import Inputs

NEVER_CUT = frozenset({Form.WALL, Form.FLESHY})
COUNTED_IN_HEADS = frozenset({Form.PHACELOID, Form.TUBULAR})


@dataclass(frozen=True, slots=True)
class Cutting:
    """At most `at_most` pieces of `size_mm` (and `heads`) from one mother."""

    at_most: int
    size_mm: tuple[float, float, float]
    heads: int | None


def cuttings(inputs: Inputs, request: Request, mother: Piece) -> Cutting | None:
    """Return what can still be cut from `mother` for this line and heal in time; None when nothing can.

    The share of the mother that may go is a trait of her form, and no piece is cut below the
    minimum of her kind. The last edge of the line's size wish decides the size of the cut.
    """
    if mother.form in NEVER_CUT:
        return None
    if latest_cut_on(inputs.reference, mother.taxon, mother.form, inputs.packed_on) <= inputs.today:
        return None
    least_mm = inputs.reference.trait(mother.taxon, mother.form, "minimum_piece_mm").band.typical
    length_mm = max(request.min_length_mm or least_mm, least_mm)
    if length_mm >= mother.length_mm or (request.max_length_mm and length_mm > request.max_length_mm):
        return None
    scale = length_mm / mother.length_mm
    size_mm = (length_mm, min(mother.width_mm, length_mm), min(mother.height_mm, length_mm))
    share = inputs.reference.trait(mother.taxon, mother.form, "cut_share").band.typical
    if mother.form in COUNTED_IN_HEADS:
        return _by_heads(inputs, mother, size_mm, share, scale)
    return _by_tissue(inputs, mother, size_mm, share)


def _by_heads(
    inputs: Inputs, mother: Piece, size_mm: tuple[float, float, float], share: float, scale: float
) -> Cutting | None:
    if not mother.heads:
        return None
    least = math.ceil(inputs.reference.trait(mother.taxon, mother.form, "minimum_heads").band.typical)
    heads = max(least, round(mother.heads * scale * scale))
    at_most = math.floor(mother.heads * share / heads)
    return Cutting(at_most, size_mm, heads) if at_most >= 1 else None


def _by_tissue(
    inputs: Inputs, mother: Piece, size_mm: tuple[float, float, float], share: float
) -> Cutting | None:
    whole = _tissue_cm2(inputs, mother, (mother.length_mm, mother.width_mm, mother.height_mm))
    at_most = math.floor(whole * share / _tissue_cm2(inputs, mother, size_mm))
    return Cutting(at_most, size_mm, None) if at_most >= 1 else None


def _tissue_cm2(inputs: Inputs, mother: Piece, size_mm: tuple[float, float, float]) -> float:
    return areas(inputs.reference, mother.taxon, mother.form, *size_mm, None).tissue_cm2.typical

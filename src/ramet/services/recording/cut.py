"""Cut a mother, or divide a piece whole: children with sizes, the healing clock, and what is left."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from ramet.domain.events import Kind
from ramet.domain.piece import Piece
from ramet.domain.words import BagClass, Form
from ramet.ledger.fold import RECKONED
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.growing.piece_areas import areas
from ramet.services.recording.offspring import Child, born, enter_births
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import (
    NOT_MEASURED,
    Size,
    ask_for_last_pieces,
    check_day,
    check_size,
    clean,
    living,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection

COUNTED_IN_HEADS = frozenset({Form.PHACELOID, Form.TUBULAR})


@dataclass(frozen=True, slots=True)
class Cut:
    """What is cut from a mother. `left` is what was measured of her afterwards; else it is reckoned.

    `tool` names the tool, so that contacts through it can be traced.
    """

    mother: str
    children: tuple[Child, ...]
    left: Size = NOT_MEASURED
    tool: str | None = None


@dataclass(frozen=True, slots=True)
class Split:
    """A piece divided whole, or fallen apart: it ends, its parts go on as its children."""

    piece: str
    parts: tuple[Child, ...]
    tool: str | None = None


def cut(ledger: Ledger, order: Cut, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter a cut: the children, and the mother made smaller with a fresh wound.

    Cautions when more than the usual share of a mother of this form goes, and for a piece below the
    minimum of its kind. Needs the word `last-piece` when the mother is the last of her strain.
    """
    draft = Draft("cut", scribe)

    def decide(connection: "Connection") -> None:
        states = living(connection, draft, "mother", [order.mother])
        if not order.children:
            draft.problem("children", None, "at least one new piece")
        if not states or not order.children:
            return
        check_day(draft, states)
        check_size(draft, "left.", order.left)
        mother = states[0].piece
        ask_for_last_pieces(connection, draft, states, "cut")
        pieces = born(connection, draft, mother, order.children, reference)
        if draft.problems:
            return
        tool = clean(draft, "tool", order.tool)
        _enter_mother(draft, mother, pieces, order.left, tool, reference)
        enter_births(draft, pieces, tool)
        _tell_of_small_ones(draft, pieces, reference)
        _tell_of_safety(draft, mother, reference)

    return record(ledger, draft, decide)


def split(ledger: Ledger, order: Split, reference: Reference, scribe: Scribe) -> Recorded:
    """Enter that a piece was divided whole. Needs the word `last-piece` for the last of a strain."""
    draft = Draft("split", scribe)

    def decide(connection: "Connection") -> None:
        states = living(connection, draft, "piece", [order.piece])
        if len(order.parts) < 2:
            draft.problem("children", len(order.parts), "at least two parts")
        if not states or len(order.parts) < 2:
            return
        check_day(draft, states)
        piece = states[0].piece
        ask_for_last_pieces(connection, draft, states, "divide")
        parts = born(connection, draft, piece, order.parts, reference)
        if draft.problems:
            return
        gave = [part.piece for part in parts]
        tool = clean(draft, "tool", order.tool)
        draft.enter(Kind.SPLIT, {"gave": gave, "tool": tool}, piece.piece)
        enter_births(draft, parts, tool)
        _tell_of_small_ones(draft, parts, reference)
        _tell_of_safety(draft, piece, reference)

    return record(ledger, draft, decide)


def share_taken(mother: Piece, pieces: Sequence[Piece], left: Size, reference: Reference) -> float:
    """Return the share of the mother's heads, or else of her live tissue, that goes with `pieces`.

    By what is left of her where that was measured, else by what the pieces amount to.
    """
    if _by_heads(mother, pieces):
        return sum(piece.heads or 0 for piece in pieces) / (mother.heads or 1)
    whole = _tissue_cm2(mother, reference)
    if left.length_mm is not None:
        sizes: dict[str, Any] = {name: value for name, value in left.given.items() if name != "heads"}
        return 1 - _tissue_cm2(replace(mother, **sizes), reference) / whole
    return sum(_tissue_cm2(piece, reference) for piece in pieces) / whole


def _enter_mother(
    draft: Draft, mother: Piece, pieces: Sequence[Piece], left: Size, tool: str | None, reference: Reference
) -> None:
    share = share_taken(mother, pieces, left, reference)
    if share >= 1:
        expected = f"less than {mother.piece} has: the pieces come to {share:.0%} of her"
        draft.problem("children", len(pieces), f"{expected} (a split divides a piece whole)")
        return
    _tell_of_share(draft, mother, share, reference)
    draft.enter(
        Kind.CUT,
        {
            "gave": [piece.piece for piece in pieces],
            "wounded_on": draft.scribe.day.isoformat(),
            "reduced": True,
            "tool": tool,
            **_left(draft, mother, pieces, left, share),
        },
        mother.piece,
    )


def _left(
    draft: Draft, mother: Piece, pieces: Sequence[Piece], left: Size, share: float
) -> dict[str, object]:
    """Return the sizes of the mother after the cut: as measured, or reckoned from the share that went.

    Live tissue goes with the square of the length, so that each side shrinks by the root of what is left.
    """
    found: dict[str, object] = dict(left.given)
    if left.heads is None and _by_heads(mother, pieces):
        found["heads"] = (mother.heads or 0) - sum(piece.heads or 0 for piece in pieces)
    if left.length_mm is not None:
        return found | {"method": "ruler"}
    scale = math.sqrt(1 - max(share, 0.0))
    for name in ("length_mm", "width_mm", "height_mm"):
        found[name] = max(1.0, round(getattr(mother, name) * scale, 1))
    draft.caution(
        "reckoned",
        f"{mother.piece} is reckoned as {found['length_mm']} × {found['width_mm']} × {found['height_mm']} mm "
        f"after the cut (it gave about {share:.0%}); measure it to be sure",
    )
    return found | {"method": RECKONED}


def _by_heads(mother: Piece, pieces: Sequence[Piece]) -> bool:
    counted = mother.form in COUNTED_IN_HEADS and bool(mother.heads)
    return counted and all(piece.heads is not None for piece in pieces)


def _tissue_cm2(piece: Piece, reference: Reference) -> float:
    found = areas(reference, piece.taxon, piece.form, piece.length_mm, piece.width_mm, piece.height_mm)
    return found.tissue_cm2.typical


def _tell_of_share(draft: Draft, mother: Piece, share: float, reference: Reference) -> None:
    usual = reference.trait(mother.taxon, mother.form, "cut_share")
    if share > usual.band.typical:
        most = usual.band.typical
        rule = f"at most {most:.0%} is usual" if most else "it is best not cut at all"
        draft.caution(
            "large_share",
            f"the cut takes about {share:.0%} of {mother.piece}; for a {mother.form.value} {mother.genus} "
            f"{rule} ({usual.grade.value})",
        )


def _tell_of_small_ones(draft: Draft, pieces: Sequence[Piece], reference: Reference) -> None:
    for piece in pieces:
        least = reference.trait(piece.taxon, piece.form, "minimum_piece_mm")
        if piece.length_mm < least.band.typical:
            draft.caution(
                "small_piece",
                f"{piece.piece} is {piece.length_mm:g} mm long; below {least.band.typical:g} mm a "
                f"{piece.form.value} {piece.genus} often fails ({least.grade.value})",
            )
        heads = math.ceil(reference.trait(piece.taxon, piece.form, "minimum_heads").band.typical)
        if piece.heads is not None and piece.heads < heads:
            draft.caution("few_heads", f"{piece.piece} has {piece.heads} heads; {heads} or more is usual")


def _tell_of_safety(draft: Draft, piece: Piece, reference: Reference) -> None:
    """Show the usual cautions of cutting; for zoanthids those of palytoxin too."""
    applies = {"cut"}
    genus = reference.genus(piece.taxon)
    if genus is not None and genus.bag_class is BagClass.ZOANTHID:
        applies |= {"cut_zoanthid", "zoanthid"}
    for row in reference.cautions:
        if row.applies in applies:
            draft.caution(row.code, row.text)

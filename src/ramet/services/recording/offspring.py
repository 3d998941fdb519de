"""New pieces that come of an old one: their names, sizes, papers and places."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ramet.domain.events import Kind
from ramet.domain.piece import Piece, name_key
from ramet.ledger import lookups
from ramet.ledger.fold import piece_payload
from ramet.reference.tables import Reference
from ramet.services.importing.stock_rows import fill_in
from ramet.services.recording.recorded import Draft
from ramet.services.recording.stock_look import (
    AS_BEFORE,
    Size,
    Where,
    check_size,
    clean,
    resolve,
    tell_of_company,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Child:
    """A new piece: at least its length, or its heads. No name: the parent's with the next free number."""

    size: Size
    piece: str | None = None
    mounted_on: str | None = None
    where: Where = AS_BEFORE
    note: str | None = None


def born(
    connection: "Connection", draft: Draft, parent: Piece, children: Sequence[Child], reference: Reference
) -> list[Piece]:
    """Return the children as pieces. Strain, taxon, form, source and permit are the parent's."""
    names = _names(connection, draft, parent, children)
    found = []
    for number, (child, name) in enumerate(zip(children, names, strict=True), start=1):
        column = f"children.{number}."
        check_size(draft, column, child.size)
        if child.size.length_mm is None:
            draft.problem(f"{column}length_mm", None, "the length of the new piece")
            continue
        _not_larger(draft, column, parent, child.size)
        where = resolve(connection, draft, child.where, parent)
        tell_of_company(connection, draft, where, [])
        found.append(_piece(draft, parent, child, name, where, reference))
    return found


def enter_births(draft: Draft, pieces: Sequence[Piece], tool: str | None) -> None:
    """Enter the birth of each piece by a cut of the day."""
    for piece in pieces:
        draft.enter(Kind.CUT, piece_payload(piece) | {"tool": tool}, piece.piece)


def _piece(draft: Draft, parent: Piece, child: Child, name: str, where: Where, reference: Reference) -> Piece:
    stays = where.tank == parent.tank and where.spot is None
    values: dict[str, Any] = {
        "piece": name,
        "strain": parent.strain,
        "taxon": parent.taxon,
        "form": parent.form,
        "parent": parent.piece,
        "source": parent.source,
        "permit": parent.permit,
        "system": where.system,
        "tank": where.tank,
        "spot": where.spot,
        "par": parent.par if stays else None,
        "flow_cm_s": parent.flow_cm_s if stays else None,
        "cut_on": draft.scribe.day,
        "mounted_on": clean(draft, "mounted_on", child.mounted_on),
        "note": clean(draft, "note", child.note, 4000),
        **child.size.given,
    }
    fill_in(values, [], reference)
    return Piece(**values)


def _names(connection: "Connection", draft: Draft, parent: Piece, children: Sequence[Child]) -> list[str]:
    taken = {name_key(name) for name in lookups.names_starting(connection, f"{parent.piece}-")}
    found: list[str] = []
    number = 1
    for place, child in enumerate(children, start=1):
        name = (child.piece or "").strip()
        if name:
            key = name_key(name)
            if key in taken or lookups.state(connection, name) is not None:
                draft.problem(f"children.{place}.piece", name, "an id that no other piece has, in any case")
            clean(draft, f"children.{place}.piece", name, 80)
        else:
            while name_key(f"{parent.piece}-{number}") in taken:
                number += 1
            name = f"{parent.piece}-{number}"
        taken.add(name_key(name))
        found.append(name)
    return found


def _not_larger(draft: Draft, column: str, parent: Piece, size: Size) -> None:
    longest = max(parent.length_mm, parent.width_mm, parent.height_mm)
    for name in ("length_mm", "width_mm", "height_mm"):
        value = size.given.get(name)
        if value is not None and value > longest:
            expected = f"no more than the longest side of {parent.piece} ({longest:g} mm)"
            draft.problem(f"{column}{name}", f"{value:g}", expected)

"""From rows of a stock table to the pieces they describe: defaults filled in, changes told apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from ramet.domain.events import Entry, Kind, PieceState, Standing, day_start
from ramet.domain.piece import Piece, name_key
from ramet.domain.words import Form
from ramet.formats.table import Row
from ramet.ledger.fold import piece_payload, plain
from ramet.reference.tables import Reference

UNKNOWN = "unknown"
UNKNOWN_FORM = Form.MASSIVE
"""Stands in for a growth form that nobody gave and no genus tells; the piece is marked for it."""

_PLACE = ("system", "tank", "spot")
_SIZE = ("length_mm", "width_mm", "height_mm", "heads")
_LEFT = {
    Standing.SENT: Kind.SENT,
    Standing.LOST: Kind.LOST,
    Standing.SPLIT: Kind.SPLIT,
    Standing.FUSED: Kind.FUSED,
}
_TO_MARK = ("form", "width_mm", "height_mm")


@dataclass(frozen=True, slots=True)
class Proposed:
    """What a row says about a piece, beside what the ledger has (`before`)."""

    row: Row
    piece: Piece
    standing: Standing
    before: PieceState | None

    @property
    def key(self) -> str:
        """The case-blind key of the piece."""
        return name_key(self.piece.piece)

    @property
    def changes(self) -> dict[str, tuple[object, object]]:
        """Fields that differ from the ledger: what it has, and what the row says."""
        if self.before is None or (self.before.piece, self.before.standing) == (self.piece, self.standing):
            return {}
        names = [name for name in Piece.__dataclass_fields__ if name != "piece"]
        old, new = self.before.piece, self.piece
        found = {name: (getattr(old, name), getattr(new, name)) for name in names}
        found["standing"] = (self.before.standing, self.standing)
        return {name: pair for name, pair in found.items() if pair[0] != pair[1]}


def propose(row: Row, before: PieceState | None, reference: Reference, parent: str | None) -> Proposed:
    """Return the piece a row describes. Columns that the table lacks keep what the ledger has."""
    values: dict[str, Any] = {} if before is None else _fields(before.piece)
    given = dict(row.values)
    standing: Any = given.pop("standing", None)
    if standing is None:
        silent = "standing" not in row.values
        standing = before.standing if before is not None and silent else Standing.ALIVE
    values.update(given)
    values["parent"] = parent
    if before is not None:
        values["piece"] = before.piece.piece
    marks = [] if before is None else [name for name in before.piece.defaults_used if name not in given]
    fill_in(values, marks, reference)
    return Proposed(row, Piece(**values), Standing(standing), before)


def entries(proposed: Proposed, today: date) -> list[Entry]:
    """Return the events that take the ledger from what it has to what the row says."""
    piece = proposed.piece
    if proposed.before is None:
        born = Kind.CUT if piece.parent is not None and piece.cut_on is not None else Kind.ACQUIRED
        day = (piece.cut_on if born is Kind.CUT else piece.acquired_on) or today
        payload = piece_payload(piece)
        if day != today:
            payload["sized_on"] = today.isoformat()  # the list tells what the piece measures now
        found = [Entry(born, day_start(day), payload, piece.piece)]
        if proposed.standing is not Standing.ALIVE:
            found.append(_left(proposed, today))
        return found
    return _changing(proposed, today)


def trait_defaults(piece: Piece, reference: Reference, traits: Sequence[str]) -> tuple[str, ...]:
    """Return those traits for which nobody has published a value of the genus, so that its class speaks."""
    return tuple(name for name in traits if reference.trait(piece.taxon, piece.form, name).is_default)


def _changing(proposed: Proposed, today: date) -> list[Entry]:
    changed = {name: plain(new) for name, (_, new) in proposed.changes.items()}
    standing = changed.pop("standing", None)
    kinds = {Kind.MOVED: _PLACE, Kind.MEASURED: _SIZE, Kind.RESERVED: ("promised_to",)}
    found = []
    if (
        standing is not None
        and proposed.before is not None
        and proposed.before.standing is not Standing.ALIVE
    ):
        # A piece that had left is back, or had left otherwise: the entry before was wrong.
        found.append(_entry(Kind.CORRECTED, proposed, {"standing": plain(standing)}, today))
        standing = None
    for kind, names in kinds.items():
        payload = {name: changed.pop(name) for name in names if name in changed}
        if payload:
            found.append(_entry(_kind_for(kind, proposed), proposed, payload, today))
    if changed:
        found.append(_entry(Kind.CORRECTED, proposed, changed, today))
    return [*found, _left(proposed, today)] if standing is not None else found


def _kind_for(kind: Kind, proposed: Proposed) -> Kind:
    """A piece that has left cannot move or grow: what is said of it now corrects the record."""
    return kind if proposed.standing is Standing.ALIVE else Kind.CORRECTED


def _left(proposed: Proposed, today: date) -> Entry:
    return _entry(_LEFT[proposed.standing], proposed, {}, today)


def _entry(kind: Kind, proposed: Proposed, payload: Mapping[str, object], today: date) -> Entry:
    return Entry(kind, day_start(today), payload, proposed.piece.piece)


def _fields(piece: Piece) -> dict[str, Any]:
    return {name: getattr(piece, name) for name in Piece.__dataclass_fields__}


def fill_in(values: dict[str, Any], marks: list[str], reference: Reference) -> None:
    """Fill in what the row leaves open and mark it: form by genus, width as long, height by form."""
    if values.get("form") is None:
        genus = reference.genus(values["taxon"])
        values["form"] = UNKNOWN_FORM if genus is None else genus.default_form
        marks.append("form")
    if values.get("width_mm") is None:
        values["width_mm"] = values["length_mm"]
        marks.append("width_mm")
    if values.get("height_mm") is None:
        ratio = reference.parameter(f"height_per_length_{values['form']}").band.typical
        values["height_mm"] = round(values["length_mm"] * ratio, 1)
        marks.append("height_mm")
    values["defaults_used"] = tuple(name for name in _TO_MARK if name in marks)

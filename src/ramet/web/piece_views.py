"""What the page of a piece shows: what it is, what happened to it, and where it stands in its family."""

from collections.abc import Mapping
from dataclasses import dataclass

from ramet.domain.events import Event, Kind, PieceState, Standing
from ramet.domain.piece import Piece, name_key
from ramet.ledger.queries import history
from ramet.ledger.rows import undone
from ramet.ledger.stock_page import StockQuery, stock_page
from ramet.ledger.store import Ledger
from ramet.web.formatting import Wording

MOST_OF_A_STRAIN = 500
_VERBS = {
    Kind.ACQUIRED: "came in",
    Kind.CUT: "cut",
    Kind.MOVED: "moved",
    Kind.MEASURED: "measured",
    Kind.DIPPED: "dipped",
    Kind.INSPECTED: "inspected",
    Kind.TREATED: "treated",
    Kind.RESERVED: "promised",
    Kind.PACKED: "packed",
    Kind.SENT: "sent",
    Kind.OPENED: "opened at the receiver's",
    Kind.PLACED: "placed",
    Kind.LOST: "lost",
    Kind.CORRECTED: "corrected",
}
_LABELS = {"length_mm": "length", "width_mm": "width", "height_mm": "height", "mounted_on": "mounted on",
           "cut_on": "cut on", "acquired_on": "came in on", "flow_cm_s": "flow", "promised_to": "promised to",
           "par": "light"}  # fmt: skip
_HIDDEN = frozenset({"defaults_used", "restores", "undoes"})


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One entry of a piece, in words; `undone` when it was taken back since."""

    event: Event
    verb: str
    words: tuple[str, ...]
    undone: bool


@dataclass(frozen=True, slots=True)
class Relative:
    """A piece in its family tree, with those cut from it."""

    state: PieceState
    children: tuple["Relative", ...]
    is_self: bool


def history_lines(book: Ledger, piece: str, say: Wording) -> tuple[HistoryLine, ...]:
    """Return the entries of a piece in words, the latest first."""
    events = history(book, piece)
    with book.reading() as connection:
        gone = undone(connection)
    lines = (
        HistoryLine(
            event, _VERBS.get(event.entry.kind, event.entry.kind.value), _told(event, say), event.seq in gone
        )
        for event in events
    )
    return tuple(reversed(tuple(lines)))


def family_of(book: Ledger, state: PieceState) -> tuple[Relative, ...]:
    """Return the family tree of a piece from its oldest known forebear, within its strain.

    A strain larger than `MOST_OF_A_STRAIN` pieces is told in part.
    """
    query = StockQuery(strain=state.piece.strain, standing=None, rows=MOST_OF_A_STRAIN)
    states = [row.state for row in stock_page(book, query).rows]
    by_key = {name_key(one.piece.piece): one for one in states}
    by_key.setdefault(name_key(state.piece.piece), state)
    children: dict[str, list[PieceState]] = {}
    for one in by_key.values():
        if one.piece.parent and name_key(one.piece.parent) in by_key:
            children.setdefault(name_key(one.piece.parent), []).append(one)
    root = _oldest(state, by_key)
    return (_relative(root, children, name_key(state.piece.piece), set()),)


def sizes_words(piece: Piece, say: Wording) -> str:
    """Return the size of a piece, with its heads where they count."""
    sizes = say.sizes((piece.length_mm, piece.width_mm, piece.height_mm))
    return f"{sizes}, {say.count(piece.heads, 'head')}" if piece.heads else sizes


def _oldest(state: PieceState, by_key: Mapping[str, PieceState]) -> PieceState:
    seen = {name_key(state.piece.piece)}
    while state.piece.parent and name_key(state.piece.parent) in by_key:
        parent = by_key[name_key(state.piece.parent)]
        if name_key(parent.piece.piece) in seen:
            return state
        seen.add(name_key(parent.piece.piece))
        state = parent
    return state


def _relative(
    state: PieceState, children: Mapping[str, list[PieceState]], self_key: str, seen: set[str]
) -> Relative:
    key = name_key(state.piece.piece)
    seen.add(key)
    younger = [one for one in children.get(key, ()) if name_key(one.piece.piece) not in seen]
    grown = tuple(_relative(one, children, self_key, seen) for one in younger)
    return Relative(state, grown, key == self_key)


def _told(event: Event, say: Wording) -> tuple[str, ...]:
    said = {name: value for name, value in event.entry.payload.items() if name not in _HIDDEN}
    if event.entry.kind in (Kind.ACQUIRED, Kind.CUT) and "length_mm" in said:
        sizes = tuple(float(str(said.pop(name, 0) or 0)) for name in ("length_mm", "width_mm", "height_mm"))
        said = {
            "size": say.sizes(sizes),
            **{k: v for k, v in said.items() if k not in ("strain", "taxon", "form")},
        }
    return tuple(
        f"{_LABELS.get(name, name.replace('_', ' '))} {_value(name, value, say)}"
        for name, value in said.items()
    )


def _value(name: str, value: object, say: Wording) -> str:
    if value is None:
        return "none"
    if name in ("length_mm", "width_mm", "height_mm"):
        return say.size("length", float(str(value)))
    if name == "flow_cm_s":
        return say.size("flow", float(str(value)))
    if isinstance(value, (list, tuple)):
        return ", ".join(str(one) for one in value)
    return str(value).replace("_", " ") if name in ("pest", "method") else str(value)


def is_in_stock(state: PieceState) -> bool:
    """Tell whether a piece is in stock."""
    return state.standing is Standing.ALIVE

"""What events add up to. Pure: the same events in the same order give the same states."""

from collections.abc import Iterable, Mapping
from datetime import date
from operator import attrgetter
from typing import Any, cast

from ramet.domain.errors import ImpossibleEvent
from ramet.domain.events import Baseline, Entry, Event, Kind, PieceState, Standing
from ramet.domain.piece import Piece, name_key
from ramet.domain.words import Form

States = dict[str, PieceState]
"""States by the case-blind key of the piece."""
RECKONED = "reckoned"
"""How a size came about that nobody measured: worked out from what was cut off."""

_BIRTHS = frozenset({Kind.ACQUIRED, Kind.CUT})
_CHANGES = frozenset({Kind.MOVED, Kind.MEASURED, Kind.CORRECTED, Kind.RESERVED, Kind.CUT, Kind.UNDONE})
_ENDS = {
    Kind.SENT: Standing.SENT,
    Kind.LOST: Standing.LOST,
    Kind.SPLIT: Standing.SPLIT,
    Kind.FUSED: Standing.FUSED,
}
_AFTER_LEAVING = frozenset(
    {
        Kind.CORRECTED,
        Kind.UNDONE,
        Kind.INSPECTED,
        Kind.TREATED,
        Kind.OPENED,
        Kind.PLACED,
        Kind.PHOTOGRAPHED,
    }
)
_PIECE_FIELDS = tuple(name for name in Piece.__dataclass_fields__ if name != "piece")
_values_of = attrgetter(*_PIECE_FIELDS)
_all_values_of = attrgetter(*Piece.__dataclass_fields__)
_INDEX = {name: number for number, name in enumerate(Piece.__dataclass_fields__)}
_FIELDS = frozenset(_PIECE_FIELDS)
_DAYS = ("cut_on", "acquired_on", "wounded_on")
_SIZES = frozenset({"length_mm", "width_mm", "heads"})
_MEASURES = _SIZES | {"height_mm", "defaults_used"}
_SHRUNK = 0.9
"""Below this share of its last length or heads a piece was cut or broken: no reading is that far off."""


def fold(events: Iterable[Event]) -> States:
    """Return the state of every piece after all events, in the order of their entry."""
    states: States = {}
    for event in events:
        carry(states, event)
    return states


def carry(states: States, event: Event) -> None:
    """Let one event act on the states. Raises ImpossibleEvent when it does not fit."""
    if event.entry.piece is None:
        return
    key = name_key(event.entry.piece)
    states[key] = _after(states.get(key), event)


def piece_payload(piece: Piece) -> dict[str, object]:
    """Return a piece as the payload of the event that brings it into the ledger; what is open is left out."""
    values = zip(_PIECE_FIELDS, _values_of(piece), strict=True)
    return {name: plain(value) for name, value in values if value is not None and value != ()}


def plain(value: object) -> object:
    """Return a field of a piece in a form that JSON can hold."""
    if isinstance(value, date):
        return value.isoformat()
    return list(value) if isinstance(value, tuple) else value


def is_birth(entry: Entry) -> bool:
    """Tell whether an entry brings its piece into the ledger. A cut of a mother says what she gave."""
    return entry.kind in _BIRTHS and "gave" not in entry.payload


def restoring(state: PieceState) -> dict[str, object]:
    """Return all that a state says, as the part of an undoing entry that puts it back."""
    base = state.base
    return {
        **{name: plain(value) for name, value in zip(_PIECE_FIELDS, _values_of(state.piece), strict=True)},
        "standing": state.standing.value,
        "arrived_on": plain(state.arrived_on),
        "sized_on": plain(state.sized_on),
        "base": None if base is None else [plain(base.on), base.length_mm, base.width_mm, base.heads],
    }


def _after(state: PieceState | None, event: Event) -> PieceState:
    entry = event.entry
    name = entry.piece or ""
    if is_birth(entry):
        if state is not None and state.standing is not Standing.UNDONE:
            raise ImpossibleEvent(name, entry.kind, "a piece of that name is in the ledger already")
        return _born(name, event)
    if state is None:
        raise ImpossibleEvent(name, entry.kind, "the ledger has no such piece")
    if state.standing is not Standing.ALIVE and entry.kind not in _AFTER_LEAVING:
        raise ImpossibleEvent(name, entry.kind, f"it was {state.standing} before")
    if entry.kind is Kind.UNDONE:
        return _restored(state, event)
    if entry.kind in _CHANGES:
        return _changed(state, event)
    standing = _ENDS.get(entry.kind, state.standing)
    return PieceState(state.piece, standing, state.arrived_on, event.seq, state.sized_on, state.base)


def _born(name: str, event: Event) -> PieceState:
    piece = Piece(piece=name, **_fields(event.entry.payload))
    sized_on = _sized_on(event)
    return PieceState(
        piece, Standing.ALIVE, piece.acquired_on, event.seq, sized_on, _baseline(piece, sized_on)
    )


def _changed(state: PieceState, event: Event) -> PieceState:
    entry, said = event.entry, event.entry.payload
    values = _fields(said)
    standing = Standing(str(said["standing"])) if "standing" in said else state.standing
    if _is_late(state, event):
        values = {name: value for name, value in values.items() if name not in _MEASURES}
    piece = _with(state.piece, values)
    arrived = state.arrived_on
    if entry.kind is Kind.MOVED and piece.system != state.piece.system:
        arrived = entry.on
    elif "acquired_on" in values:
        arrived = piece.acquired_on
    sized_on, base = state.sized_on, state.base
    if not _SIZES.isdisjoint(values):
        sized_on, base = _sized(state, piece, event)
    return PieceState(piece, standing, arrived, event.seq, sized_on, base)


def _with(piece: Piece, values: Mapping[str, Any]) -> Piece:
    """Return a piece with some fields changed: `replace` of so many fields takes most of a rebuild's time."""
    if not values:
        return piece
    found = list(_all_values_of(piece))
    for name, value in values.items():
        found[_INDEX[name]] = value
    return Piece(*found)


def _is_late(state: PieceState, event: Event) -> bool:
    """Tell whether a measurement is older than the one that stands: it belongs to the history alone."""
    measured = event.entry.kind is Kind.MEASURED
    return measured and state.sized_on is not None and _sized_on(event) < state.sized_on


def _sized(state: PieceState, piece: Piece, event: Event) -> tuple[date | None, Baseline | None]:
    """Return the day of new sizes, and the baseline: the old one unless the piece was cut."""
    if event.entry.kind is Kind.CORRECTED:  # what stood there before was wrong
        return state.sized_on, _baseline(piece, state.sized_on or event.entry.on)
    before, sized_on = state.piece, _sized_on(event)
    shrunk = piece.length_mm < _SHRUNK * before.length_mm or (piece.heads or 0) < _SHRUNK * (
        before.heads or 0
    )
    if state.base is None or shrunk or event.entry.payload.get("reduced"):
        return sized_on, _baseline(piece, sized_on)
    return sized_on, state.base


def _restored(state: PieceState, event: Event) -> PieceState:
    """Put back what an undone entry had changed, as the undoing entry says it."""
    back = cast("Mapping[str, Any]", event.entry.payload.get("restores", {}))
    if not back:
        return PieceState(
            state.piece, state.standing, state.arrived_on, event.seq, state.sized_on, state.base
        )
    base = back["base"]
    return PieceState(
        _with(state.piece, _fields(back)),
        Standing(back["standing"]),
        _day(back["arrived_on"]),
        event.seq,
        _day(back["sized_on"]),
        None if base is None else Baseline(date.fromisoformat(base[0]), *base[1:]),
    )


def _sized_on(event: Event) -> date:
    return _day(event.entry.payload.get("sized_on")) or event.entry.on


def _baseline(piece: Piece, on: date) -> Baseline:
    return Baseline(on, piece.length_mm, piece.width_mm, piece.heads)


def _fields(payload: Mapping[str, object]) -> dict[str, Any]:
    """Return what a payload says of a piece's fields; what else it holds stays with the event."""
    values: dict[str, Any] = {name: value for name, value in payload.items() if name in _FIELDS}
    if "form" in values:
        values["form"] = Form(values["form"])
    if "defaults_used" in values:
        values["defaults_used"] = tuple(values["defaults_used"])
    for name in _DAYS:
        if name in values:
            values[name] = _day(values[name])
    return values


def _day(value: object) -> date | None:
    return None if value is None else date.fromisoformat(str(value))

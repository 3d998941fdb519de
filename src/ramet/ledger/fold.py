"""What events add up to. Pure: the same events in the same order give the same states."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any, cast

from ramet.domain.errors import ImpossibleEvent
from ramet.domain.events import OBSERVED, Baseline, Event, Kind, PieceState, Standing
from ramet.domain.piece import Piece, name_key
from ramet.domain.words import Form

States = dict[str, PieceState]
"""States by the case-blind key of the piece."""

_BIRTHS = frozenset({Kind.ACQUIRED, Kind.CUT})
_CHANGES = frozenset({Kind.MOVED, Kind.MEASURED, Kind.CORRECTED, Kind.RESERVED})
_ENDS = {Kind.SENT: Standing.SENT, Kind.LOST: Standing.LOST}
_AFTER_LEAVING = frozenset(
    {Kind.CORRECTED, Kind.INSPECTED, Kind.TREATED, Kind.OPENED, Kind.PLACED, Kind.PHOTOGRAPHED}
)
_PIECE_FIELDS = tuple(name for name in Piece.__dataclass_fields__ if name != "piece")
_DAYS = frozenset({"cut_on", "acquired_on"})
_SIZES = frozenset({"length_mm", "width_mm", "heads"})
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
    values = ((name, getattr(piece, name)) for name in _PIECE_FIELDS)
    return {name: plain(value) for name, value in values if value is not None and value != ()}


def plain(value: object) -> object:
    """Return a field of a piece in a form that JSON can hold."""
    if isinstance(value, date):
        return value.isoformat()
    return list(value) if isinstance(value, tuple) else value


def _after(state: PieceState | None, event: Event) -> PieceState:
    entry = event.entry
    name = entry.piece or ""
    if entry.kind in _BIRTHS:
        if state is not None:
            raise ImpossibleEvent(name, entry.kind, "a piece of that name is in the ledger already")
        return _born(name, event)
    if state is None:
        raise ImpossibleEvent(name, entry.kind, "the ledger has no such piece")
    if state.standing is not Standing.ALIVE and entry.kind not in _AFTER_LEAVING:
        raise ImpossibleEvent(name, entry.kind, f"it was {state.standing} before")
    if entry.kind in _CHANGES:
        return _changed(state, event)
    return replace(state, standing=_ENDS.get(entry.kind, state.standing), version=event.seq)


def _born(name: str, event: Event) -> PieceState:
    piece = Piece(piece=name, **_fields(event.entry.payload))
    sized_on = _sized_on(event)
    return PieceState(
        piece, Standing.ALIVE, piece.acquired_on, event.seq, sized_on, _baseline(piece, sized_on)
    )


def _changed(state: PieceState, event: Event) -> PieceState:
    values = _fields(event.entry.payload)
    standing = Standing(values.pop("standing", state.standing))
    piece = replace(state.piece, **values)
    arrived = state.arrived_on
    if event.entry.kind is Kind.MOVED and piece.system != state.piece.system:
        arrived = event.entry.on
    elif "acquired_on" in values:
        arrived = piece.acquired_on
    changed = replace(state, piece=piece, standing=standing, arrived_on=arrived, version=event.seq)
    return changed if not _SIZES & values.keys() else _sized(changed, state.piece, event)


def _sized(state: PieceState, before: Piece, event: Event) -> PieceState:
    """Return a state with new sizes: growth goes on from the old baseline unless the piece was cut."""
    piece = state.piece
    if event.entry.kind is not Kind.MEASURED:  # what stood there before was wrong
        return replace(state, base=_baseline(piece, state.sized_on or event.entry.on))
    sized_on = _sized_on(event)
    shrunk = piece.length_mm < _SHRUNK * before.length_mm or (piece.heads or 0) < _SHRUNK * (
        before.heads or 0
    )
    if state.base is None or shrunk or event.entry.payload.get("reduced"):
        return replace(state, sized_on=sized_on, base=_baseline(piece, sized_on))
    return replace(state, sized_on=sized_on)


def _sized_on(event: Event) -> date:
    day = cast("str | None", event.entry.payload.get("sized_on"))
    return event.entry.on if day is None else date.fromisoformat(day)


def _baseline(piece: Piece, on: date) -> Baseline:
    return Baseline(on, piece.length_mm, piece.width_mm, piece.heads)


def _fields(payload: Mapping[str, object]) -> dict[str, Any]:
    values: dict[str, Any] = {name: value for name, value in payload.items() if name not in OBSERVED}
    if "form" in values:
        values["form"] = Form(values["form"])
    if "defaults_used" in values:
        values["defaults_used"] = tuple(values["defaults_used"])
    for name in _DAYS & values.keys():
        day = cast("str | None", values[name])
        values[name] = None if day is None else date.fromisoformat(day)
    return values

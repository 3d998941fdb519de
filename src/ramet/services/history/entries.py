"""Entries of the ledger as a person reads them: of one piece, or the latest of all."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from ramet.domain.errors import BadInput
from ramet.domain.events import Event
from ramet.domain.problems import Place, Problem
from ramet.ledger import lookups, queries
from ramet.ledger.rows import undone
from ramet.ledger.store import Ledger

_NOT_SHOWN = frozenset({"restores", "defaults_used"})


@dataclass(frozen=True, slots=True)
class Line:
    """One entry: its number, day, kind, what it is about, what it says, who entered it; and whether it was
    taken back since."""

    number: int
    on: date
    kind: str
    about: str
    said: str
    by: str
    undone: bool


def entries_of(ledger: Ledger, piece: str) -> tuple[Line, ...]:
    """Return the entries of a piece in the order of entry. Raises BadInput when there is none."""
    events = queries.history(ledger, piece.strip())
    if not events:
        raise BadInput([Problem(Place("piece"), piece, "a piece of the ledger")])
    return _lines(ledger, events)


def latest_entries(ledger: Ledger, at_most: int) -> tuple[Line, ...]:
    """Return the latest entries of all, the oldest of them first."""
    with ledger.reading() as connection:
        events = lookups.latest_events(connection, at_most)
    return _lines(ledger, events)


def _lines(ledger: Ledger, events: Iterable[Event]) -> tuple[Line, ...]:
    with ledger.reading() as connection:
        gone = undone(connection)
    return tuple(
        Line(
            event.seq,
            event.entry.on,
            event.entry.kind.value,
            event.entry.piece or event.entry.system or "",
            _said(event),
            event.recorded_by,
            event.seq in gone,
        )
        for event in events
    )


def _said(event: Event) -> str:
    payload = event.entry.payload
    pairs = ((name, value) for name, value in payload.items() if name not in _NOT_SHOWN and value is not None)
    return ", ".join(f"{name} {_plain(value)}" for name, value in pairs)


def _plain(value: object) -> str:
    if isinstance(value, list):
        return " ".join(str(one) for one in value)
    return f"{value:g}" if isinstance(value, float) else str(value)

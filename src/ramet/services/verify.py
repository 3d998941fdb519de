"""Rebuild every piece from its events alone and compare with what the ledger shows."""

from collections.abc import Iterator
from dataclasses import dataclass, fields

from ramet.domain.errors import ImpossibleEvent
from ramet.domain.events import Event, PieceState
from ramet.domain.piece import Piece
from ramet.ledger import projections
from ramet.ledger.fold import States, carry
from ramet.ledger.queries import all_events
from ramet.ledger.store import open_ledger
from ramet.services.bulk import collector_paused


@dataclass(frozen=True, slots=True)
class Difference:
    """Something that the events and the table of pieces do not agree on."""

    piece: str
    field: str
    shown: str
    rebuilt: str


@dataclass(frozen=True, slots=True)
class VerifyReport:
    """How much was rebuilt, and where it differs."""

    events: int
    pieces: int
    differences: tuple[Difference, ...]


def verify(ledger: str) -> VerifyReport:
    """Fold all events of a ledger afresh and compare. Raises BadInput when there is no ledger."""
    with collector_paused(), open_ledger(ledger) as book, book.reading() as connection:
        count, rebuilt, differences = _rebuild(all_events(connection))
        shown = projections.states(connection)
    differences += _compare(shown, rebuilt)
    return VerifyReport(count, len(rebuilt), tuple(differences))


def _rebuild(events: Iterator[Event]) -> tuple[int, States, list[Difference]]:
    states: States = {}
    differences = []
    count = 0
    for count, event in enumerate(events, start=1):
        if event.seq != count:
            differences.append(Difference("", "number of the event", str(event.seq), str(count)))
            break
        try:
            carry(states, event)
        except (ImpossibleEvent, TypeError, ValueError) as error:
            name = event.entry.piece or ""
            differences.append(Difference(name, f"event {event.seq}", event.entry.kind, str(error)))
    return count, states, differences


def _compare(shown: States, rebuilt: States) -> Iterator[Difference]:
    for key in sorted(shown.keys() | rebuilt.keys()):
        one, other = shown.get(key), rebuilt.get(key)
        if one == other:
            continue
        if one is None or other is None:
            there = one or other
            name = there.piece.piece if there is not None else key
            yield Difference(name, "piece", _presence(one), _presence(other))
            continue
        yield from _compare_fields(one, other)


def _presence(state: PieceState | None) -> str:
    return "missing" if state is None else "there"


def _compare_fields(one: PieceState, other: PieceState) -> Iterator[Difference]:
    for name in ("standing", "arrived_on", "version", "sized_on", "base"):
        if getattr(one, name) != getattr(other, name):
            yield Difference(one.piece.piece, name, str(getattr(one, name)), str(getattr(other, name)))
    for name in (each.name for each in fields(Piece)):
        if getattr(one.piece, name) != getattr(other.piece, name):
            yield Difference(
                one.piece.piece, name, str(getattr(one.piece, name)), str(getattr(other.piece, name))
            )

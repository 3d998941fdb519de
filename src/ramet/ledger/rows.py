"""Rows of the table of events as the events they hold."""

from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import Connection, Text, cast, select

from ramet.domain.events import Entry, Event, Kind
from ramet.ledger.tables import events

_PORTION = 5_000


def event_of(row: Sequence[Any]) -> Event:
    """Return the event that a row of the whole table holds."""
    seq, kind, _, piece, system, at, payload, recorded_at, recorded_by, batch = row
    return Event(seq, Entry(Kind(kind), at, payload, piece, system), recorded_at, recorded_by, batch)


def all_events(connection: Connection) -> Iterator[Event]:
    """Return every event in the order of entry, without holding them all at once."""
    query = select(events).order_by(events.c.seq).execution_options(yield_per=_PORTION)
    for row in connection.execute(query):
        yield event_of(row)


def of_kinds(connection: Connection, *kinds: Kind) -> Iterator[Event]:
    """Return the events of some kinds that still count, in the order of entry."""
    query = select(events).where(events.c.kind.in_([kind.value for kind in kinds])).order_by(events.c.seq)
    gone = undone(connection)
    for row in connection.execute(query):
        if row[0] not in gone:
            yield event_of(row)


def saying(
    connection: Connection, name: str, kinds: Sequence[Kind], text: str | None = None
) -> Iterator[Event]:
    """Return the events of some kinds whose payload has a value under a name, in the order of entry.

    `text` is a pattern that the payload as text must match, to leave most rows unread.
    """
    mentions = cast(events.c.payload, Text).like(text or f'%"{name}":%')
    wanted = events.c.kind.in_([kind.value for kind in kinds])
    gone = undone(connection)
    for row in connection.execute(select(events).where(wanted, mentions).order_by(events.c.seq)):
        event = event_of(row)
        if event.seq not in gone and event.entry.payload.get(name) is not None:
            yield event


def undone(connection: Connection) -> frozenset[int]:
    """Return the numbers of all events that were taken back and not brought back since."""
    return taken_back(undoings(connection))


def undoings(connection: Connection) -> list[tuple[int, list[int]]]:
    """Return the number of every undoing event with the numbers that it takes back, in order of entry."""
    query = select(events.c.seq, events.c.payload).where(events.c.kind == Kind.UNDONE.value)
    return [(row[0], row[1]["undoes"]) for row in connection.execute(query.order_by(events.c.seq))]


def taken_back(found: Sequence[tuple[int, Sequence[int]]]) -> frozenset[int]:
    """Return which numbers undoing events take back: one that was itself undone takes nothing back."""
    gone: set[int] = set()
    for number, numbers in reversed(found):
        if number not in gone:
            gone.update(numbers)
    return frozenset(gone)

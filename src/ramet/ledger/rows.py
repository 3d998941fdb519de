"""Rows of the table of events as the events they hold."""

from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import Connection, select

from ramet.domain.events import Entry, Event, Kind
from ramet.ledger.tables import events

_PORTION = 5_000


def event_of(row: Sequence[Any]) -> Event:
    """Return the event that a row of the whole table holds."""
    seq, kind, _, piece, system, at, payload, recorded_at, recorded_by, batch = row
    return Event(seq, Entry(Kind(kind), at, payload, piece, system), recorded_at, recorded_by, batch)


def all_events(connection: Connection) -> Iterator[Event]:
    """Return every event in the order of entry, without holding them all at once."""
    query = select(events).order_by(events.c.seq)
    for row in connection.execution_options(yield_per=_PORTION).execute(query):
        yield event_of(row)


def of_kinds(connection: Connection, *kinds: Kind) -> Iterator[Event]:
    """Return the events of some kinds that still count, in the order of entry."""
    query = select(events).where(events.c.kind.in_([kind.value for kind in kinds])).order_by(events.c.seq)
    gone = undone(connection)
    for row in connection.execute(query):
        if row[0] not in gone:
            yield event_of(row)


def undone(connection: Connection) -> frozenset[int]:
    """Return the numbers of all events that were taken back and not brought back since."""
    query = select(events.c.seq, events.c.payload).where(events.c.kind == Kind.UNDONE.value)
    gone: set[int] = set()
    # The latest first: an undoing entry that was itself undone takes nothing back.
    for seq, payload in connection.execute(query.order_by(events.c.seq.desc())):
        if seq not in gone:
            gone.update(payload["undoes"])
    return frozenset(gone)

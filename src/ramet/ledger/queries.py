"""What is asked of a ledger, each answer read in one moment."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from ramet.domain.events import Entry, Event, HealthKind, HealthRecord, Kind, PieceState, Stay
from ramet.domain.piece import WaterRecord, name_key
from ramet.ledger import projections
from ramet.ledger.store import Ledger, version_of
from ramet.ledger.tables import events


@dataclass(frozen=True, slots=True)
class Contents:
    """All that the ledger holds at one moment, by case-blind keys where a name is looked up."""

    version: int
    states: dict[str, PieceState]
    stays: tuple[Stay, ...]
    water: tuple[WaterRecord, ...]
    health: tuple[HealthRecord, ...]


EMPTY = Contents(0, {}, (), (), ())


def contents(ledger: Ledger) -> Contents:
    """Read the ledger at one moment."""
    with ledger.reading() as connection:
        states = projections.states(connection)
        return Contents(
            version_of(connection),
            states,
            tuple(stays(connection, states)),
            tuple(water(connection)),
            tuple(health(connection)),
        )


def all_events(connection: Connection) -> Iterator[Event]:
    """Return every event in the order of entry, without holding them all at once."""
    rows = connection.execution_options(yield_per=5_000).execute(select(events).order_by(events.c.seq))
    for row in rows:
        yield event_of(row)


def history(ledger: Ledger, piece: str) -> tuple[Event, ...]:
    """Return the events of one piece in the order of entry."""
    query = select(events).where(events.c.piece_key == name_key(piece)).order_by(events.c.seq)
    with ledger.reading() as connection:
        return tuple(event_of(row) for row in connection.execute(query))


def event_of(row: Sequence[Any]) -> Event:
    """Return the event that a row of the whole table holds."""
    seq, kind, _, piece, system, at, payload, recorded_at, recorded_by, batch = row
    return Event(seq, Entry(Kind(kind), at, payload, piece, system), recorded_at, recorded_by, batch)


def water(connection: Connection) -> Iterator[WaterRecord]:
    """Return the readings of all systems; a later entry for the same system and day replaces an earlier."""
    latest = {}
    for event in _of_kinds(connection, Kind.WATER):
        values: dict[str, Any] = dict(event.entry.payload)
        system = event.entry.system or ""
        latest[name_key(system), event.entry.on] = WaterRecord(system=system, on=event.entry.on, **values)
    yield from latest.values()


def health(connection: Connection) -> Iterator[HealthRecord]:
    """Return findings, treatments and inspections in the order of entry."""
    for event in _of_kinds(connection, Kind.INSPECTED, Kind.TREATED):
        entry = event.entry
        if "pest" in entry.payload:
            yield HealthRecord(
                on=entry.on,
                kind=HealthKind(str(entry.payload["result"])),
                pest=str(entry.payload["pest"]),
                piece=entry.piece,
                system=entry.system,
                note=None if entry.payload.get("note") is None else str(entry.payload["note"]),
            )


def stays(connection: Connection, states: dict[str, PieceState]) -> Iterator[Stay]:
    """Return which piece was in which system's water, and when.

    Only pieces that moved need their events read; every other piece has been where it is.
    """
    moved: dict[str, list[Event]] = {}
    for event in _of_kinds(connection, Kind.MOVED):
        if "system" in event.entry.payload:
            moved.setdefault(name_key(event.entry.piece or ""), []).append(event)
    first = _first_systems(connection, set(moved))
    for key, state in states.items():
        since = state.arrived_on if key not in moved else state.piece.acquired_on
        system = first.get(key, state.piece.system)
        for event in moved.get(key, ()):
            yield Stay(state.piece.piece, system, since, event.entry.on)
            system, since = str(event.entry.payload["system"]), event.entry.on
        yield Stay(state.piece.piece, system, since, None)


def _first_systems(connection: Connection, keys: set[str]) -> dict[str, str]:
    if not keys:
        return {}
    births = _of_kinds(connection, Kind.ACQUIRED, Kind.CUT)
    named = ((name_key(event.entry.piece or ""), event) for event in births)
    return {key: str(event.entry.payload["system"]) for key, event in named if key in keys}


def _of_kinds(connection: Connection, *kinds: Kind) -> Iterator[Event]:
    query = select(events).where(events.c.kind.in_([kind.value for kind in kinds])).order_by(events.c.seq)
    for row in connection.execute(query):
        yield event_of(row)

"""What is asked of a ledger, each answer read in one moment."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from ramet.domain.events import Event, HealthKind, HealthRecord, Kind, PieceState, Stay
from ramet.domain.piece import WaterRecord, name_key
from ramet.ledger import projections
from ramet.ledger.rows import all_events, event_of, of_kinds, undone
from ramet.ledger.store import Ledger, version_of
from ramet.ledger.tables import events

__all__ = ["EMPTY", "Contents", "all_events", "contents", "health", "history", "stays", "undone", "water"]


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


def history(ledger: Ledger, piece: str) -> tuple[Event, ...]:
    """Return the events of one piece in the order of entry."""
    query = select(events).where(events.c.piece_key == name_key(piece)).order_by(events.c.seq)
    with ledger.reading() as connection:
        return tuple(event_of(row) for row in connection.execute(query))


def water(connection: Connection) -> Iterator[WaterRecord]:
    """Return the readings of all systems; a later entry for the same system and day replaces an earlier."""
    latest = {}
    for event in of_kinds(connection, Kind.WATER):
        values: dict[str, Any] = dict(event.entry.payload)
        system = event.entry.system or ""
        latest[name_key(system), event.entry.on] = WaterRecord(system=system, on=event.entry.on, **values)
    yield from latest.values()


def health(connection: Connection) -> Iterator[HealthRecord]:
    """Return findings, treatments and inspections in the order of entry."""
    for event in of_kinds(connection, Kind.INSPECTED, Kind.TREATED):
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
    for event in of_kinds(connection, Kind.MOVED):
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
    births = of_kinds(connection, Kind.ACQUIRED, Kind.CUT)
    named = ((name_key(event.entry.piece or ""), event) for event in births)
    return {key: str(event.entry.payload["system"]) for key, event in named if key in keys}

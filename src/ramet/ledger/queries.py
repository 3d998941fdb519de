"""What is asked of a ledger, each answer read in one moment."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, Text, cast, func, select

from ramet.domain.events import Event, HealthKind, HealthRecord, Kind, PieceState, Standing, Stay
from ramet.domain.piece import WaterRecord, name_key
from ramet.domain.places import SpotRecord
from ramet.ledger import projections
from ramet.ledger.fold import is_birth
from ramet.ledger.records import FishRecord, GoodsStay, fish, goods
from ramet.ledger.rows import all_events, event_of, of_kinds, undone
from ramet.ledger.store import Ledger, version_of
from ramet.ledger.tables import events

__all__ = ["EMPTY", "Contents", "all_events", "contents", "health", "history", "spots", "stays", "water"]


@dataclass(frozen=True, slots=True)
class Contents:
    """All that the ledger holds at one moment, by case-blind keys where a name is looked up."""

    version: int
    states: dict[str, PieceState]
    stays: tuple[Stay, ...]
    water: tuple[WaterRecord, ...]
    health: tuple[HealthRecord, ...]
    spots: tuple[SpotRecord, ...] = ()
    fish: tuple[FishRecord, ...] = ()
    goods: tuple[GoodsStay, ...] = ()


EMPTY = Contents(0, {}, (), (), ())


def contents(ledger: Ledger) -> Contents:
    """Read the ledger at one moment."""
    with ledger.reading() as connection:
        states = projections.known_states(connection)
        return Contents(
            version_of(connection),
            states,
            tuple(stays(connection, states)),
            tuple(water(connection)),
            tuple(health(connection)),
            tuple(spots(connection)),
            fish(connection),
            goods(connection),
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


def spots(connection: Connection) -> Iterator[SpotRecord]:
    """Return what is known of every place, by the day; a later entry for the same day replaces an earlier."""
    latest: dict[tuple[str, str, str, date], SpotRecord] = {}
    for event in of_kinds(connection, Kind.SPOT):
        values: dict[str, Any] = dict(event.entry.payload)
        record = SpotRecord(system=event.entry.system or "", on=event.entry.on, **values)
        key = (name_key(record.system), name_key(record.tank), name_key(record.spot or ""), record.on)
        latest[key] = record
    yield from (latest[key] for key in sorted(latest))


def last_recorded_on(connection: Connection) -> date:
    """Return the day on which the latest event was entered; of an empty ledger the first day of all."""
    latest = connection.execute(select(func.max(events.c.recorded_at))).scalar()
    return date.min if latest is None else latest.date()


def fusions(connection: Connection) -> dict[str, tuple[str, date]]:
    """Return for each piece that fused what it fused into, and when."""
    return {
        event.entry.piece or "": (str(event.entry.payload["into"]), event.entry.on)
        for event in of_kinds(connection, Kind.FUSED)
        if "into" in event.entry.payload
    }


def health(connection: Connection) -> Iterator[HealthRecord]:
    """Return findings, treatments and inspections in the order of entry."""
    for event in of_kinds(connection, Kind.INSPECTED, Kind.TREATED, Kind.DIPPED):
        if event.entry.payload.get("pest") is not None:
            yield health_record(event)


def health_record(event: Event) -> HealthRecord:
    """Return what an event says of a pest."""
    entry = event.entry
    return HealthRecord(
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
    for event in _changes_of_system(connection):
        moved.setdefault(name_key(event.entry.piece or ""), []).append(event)
    first = _first_systems(connection, set(moved))
    left = _days_of_leaving(connection)
    for key, state in states.items():
        until = None if state.standing is Standing.ALIVE else left.get(key)
        if key not in first:
            yield Stay(state.piece.piece, state.piece.system, state.arrived_on, until)
            continue
        yield from stays_of(state, first[key], moved[key], until)


def _days_of_leaving(connection: Connection) -> dict[str, date]:
    """Return the day of the last event with which each piece that is gone went."""
    ends = of_kinds(connection, Kind.SENT, Kind.LOST, Kind.SPLIT, Kind.FUSED)
    return {name_key(event.entry.piece or ""): event.entry.on for event in ends}


def stays_of(state: PieceState, system: str, changes: Sequence[Event], until: date | None) -> Iterator[Stay]:
    """Return the stays of a piece born into a system, by the entries that say where it went since."""
    since = state.piece.acquired_on
    for event in changes:
        entered = str(event.entry.payload["system"])
        if event.entry.kind is Kind.MOVED and name_key(entered) != name_key(system):
            yield Stay(state.piece.piece, system, since, event.entry.on)
            since = event.entry.on
        # A correction of the system says where the piece has been all along.
        system = entered
    yield Stay(state.piece.piece, system, since, until)


def _changes_of_system(connection: Connection) -> Iterator[Event]:
    says_so = cast(events.c.payload, Text).like('%"system":%')
    kinds = events.c.kind.in_([Kind.MOVED.value, Kind.CORRECTED.value])
    gone = undone(connection)
    for row in connection.execute(select(events).where(kinds, says_so).order_by(events.c.seq)):
        event = event_of(row)
        if event.seq not in gone and "system" in event.entry.payload:
            yield event


def _first_systems(connection: Connection, keys: set[str]) -> dict[str, str]:
    if not keys:
        return {}
    births = (event for event in of_kinds(connection, Kind.ACQUIRED, Kind.CUT) if is_birth(event.entry))
    named = ((name_key(event.entry.piece or ""), event) for event in births)
    return {key: str(event.entry.payload["system"]) for key, event in named if key in keys}


def of_batch(connection: Connection, batch: str, *kinds: Kind) -> tuple[Event, ...]:
    """Return the events of some kinds that came under one name of a batch and still count, in order."""
    query = select(events).where(
        events.c.kind.in_([kind.value for kind in kinds]),
        events.c.batch.startswith(f"{batch} #", autoescape=True),
    )
    rows = connection.execute(query.order_by(events.c.seq)).all()
    gone = undone(connection) if rows else frozenset()
    return tuple(event_of(row) for row in rows if row[0] not in gone)

"""What bears on health holds, read as narrowly as the findings on record allow.

Most days of most ledgers have no finding, and then nothing else need be read. With findings, only corals that
can be held count, and only where they have been since the first of these findings.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date

from sqlalchemy import ColumnElement, Connection, or_, select

from ramet.domain.events import Event, HealthKind, HealthRecord, Kind, PieceState, Standing, Stay, day_start
from ramet.domain.piece import name_key
from ramet.ledger import projections
from ramet.ledger.fold import States, is_birth
from ramet.ledger.queries import health_record, stays_of
from ramet.ledger.rows import event_of, saying, undone
from ramet.ledger.tables import events, pieces

_PORTION = 500


def findings(connection: Connection) -> tuple[HealthRecord, ...]:
    """Return the findings of pests, without the looks that found nothing."""
    found = saying(connection, "pest", (Kind.INSPECTED,), text='%"finding"%')
    records = (health_record(event) for event in found)
    return tuple(one for one in records if one.kind is HealthKind.FINDING)


def health_of_pests(connection: Connection, pests: Collection[str]) -> tuple[HealthRecord, ...]:
    """Return all that was recorded of some pests, in the order of entry."""
    kinds = (Kind.INSPECTED, Kind.TREATED, Kind.DIPPED)
    records = (health_record(event) for event in saying(connection, "pest", kinds))
    return tuple(one for one in records if one.pest in pests)


def states_of_genera(
    connection: Connection, genera: Collection[str] | None, names: Collection[str], since: date
) -> States:
    """Return corals of some genera (None: of all), some by name, and all that came in since a day."""
    if genera is None:
        return projections.known_states(connection)
    wanted: list[ColumnElement[bool]] = [pieces.c.arrived_on >= since, pieces.c.piece.in_(list(names))]
    for genus in genera:
        wanted += [pieces.c.taxon.ilike(f"{genus} %"), pieces.c.taxon.ilike(genus)]
    keys = list(connection.execute(select(pieces.c.key).where(or_(*wanted))).scalars())
    return projections.known_states(connection, keys)


def stays_since(connection: Connection, states: Mapping[str, PieceState], since: date) -> Iterator[Stay]:
    """Return where these pieces were from a day on; what ended before it is left out."""
    moved = _moved_since(connection, since) & states.keys()
    left = _left_since(connection, since)
    changes = _events_by_piece(connection, sorted(moved), (Kind.MOVED, Kind.CORRECTED))
    births = _events_by_piece(connection, sorted(moved), (Kind.ACQUIRED, Kind.CUT))
    for key, state in states.items():
        alive = state.standing is Standing.ALIVE
        if not alive and key not in left:
            continue
        until = None if alive else left[key]
        born = next((event for event in births.get(key, ()) if is_birth(event.entry)), None)
        if key not in moved or born is None:
            yield Stay(state.piece.piece, state.piece.system, state.arrived_on, until)
            continue
        said = [event for event in changes.get(key, ()) if "system" in event.entry.payload]
        for stay in stays_of(state, str(born.entry.payload["system"]), said, until):
            if stay.until is None or stay.until >= since:
                yield stay


def _moved_since(connection: Connection, since: date) -> set[str]:
    query = select(events.c.piece_key).where(
        events.c.kind.in_([Kind.MOVED.value, Kind.CORRECTED.value]), events.c.at >= day_start(since)
    )
    return {row[0] for row in connection.execute(query.distinct())}


def _left_since(connection: Connection, since: date) -> dict[str, date]:
    ends = [Kind.SENT.value, Kind.LOST.value, Kind.SPLIT.value, Kind.FUSED.value]
    query = select(events.c.seq, events.c.piece_key, events.c.at).where(
        events.c.kind.in_(ends), events.c.at >= day_start(since)
    )
    gone = undone(connection)
    rows = connection.execute(query.order_by(events.c.seq))
    return {row[1]: row[2].date() for row in rows if row[0] not in gone}


def _events_by_piece(
    connection: Connection, keys: Sequence[str], kinds: Sequence[Kind]
) -> dict[str, list[Event]]:
    gone = undone(connection) if keys else frozenset()
    found: dict[str, list[Event]] = {}
    for start in range(0, len(keys), _PORTION):
        some = events.c.piece_key.in_(keys[start : start + _PORTION])
        query = select(events).where(some, events.c.kind.in_([kind.value for kind in kinds]))
        for row in connection.execute(query.order_by(events.c.seq)):
            if row[0] not in gone:
                found.setdefault(name_key(row[3] or ""), []).append(event_of(row))
    return found

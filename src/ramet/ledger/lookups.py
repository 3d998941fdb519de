"""What a writer looks up before it decides: a few rows each, by an index, in the writer's transaction."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, func, select

from ramet.domain.events import Event, Kind, PieceState, Standing
from ramet.domain.piece import name_key
from ramet.ledger import projections
from ramet.ledger.fold import States
from ramet.ledger.rows import event_of, of_kinds
from ramet.ledger.tables import events, pieces

_ALIVE = pieces.c.standing == Standing.ALIVE.value
_AFTER_ALL = "\U0010ffff"


@dataclass(frozen=True, slots=True)
class KnownPlaces:
    """Systems and tanks by case-blind key: those that hold or held a piece, or have a spot on record."""

    systems: dict[str, str]
    tanks: dict[str, tuple[tuple[str, str], ...]]
    """For each tank its spelling with each system that has one of that name."""


def state(connection: Connection, name: str) -> PieceState | None:
    """Return the state of one piece; None also for one that was entered by mistake."""
    return projections.known_states(connection, [name_key(name)]).get(name_key(name))


def names_near(connection: Connection, name: str) -> list[str]:
    """Return ids that begin like `name`, to suggest from."""
    start = name_key(name)[:1]
    return _names_from(connection, start, 500)


def names_starting(connection: Connection, start: str) -> list[str]:
    """Return all ids, of pieces that are gone too, that begin with `start` in any case."""
    return _names_from(connection, name_key(start), None)


def alive_of_strain(connection: Connection, strain: str, at_most: int) -> list[str]:
    """Return up to `at_most` ids of pieces of a strain that are alive."""
    query = select(pieces.c.piece).where(_ALIVE, pieces.c.strain == strain).limit(at_most)
    return list(connection.execute(query).scalars())


def children_of(connection: Connection, name: str) -> list[str]:
    """Return the ids of the pieces cut from a piece, those that were entered by mistake left out."""
    query = select(pieces.c.piece).where(pieces.c.parent == name, pieces.c.standing != Standing.UNDONE.value)
    return list(connection.execute(query.order_by(pieces.c.sort_name)).scalars())


def on_spot(connection: Connection, system: str, tank: str, spot: str) -> list[str]:
    """Return the ids of living pieces that stand on a spot."""
    place = (pieces.c.system == system) & (pieces.c.tank == tank) & (pieces.c.spot == spot)
    return list(connection.execute(select(pieces.c.piece).where(_ALIVE, place)).scalars())


def known_places(connection: Connection) -> KnownPlaces:
    """Return every system and tank that the ledger knows."""
    pairs = [
        (row[0], row[1]) for row in connection.execute(select(pieces.c.system, pieces.c.tank).distinct())
    ]
    for event in of_kinds(connection, Kind.SPOT):
        pairs.append((event.entry.system or "", str(event.entry.payload["tank"])))
    systems: dict[str, str] = {}
    tanks: dict[str, dict[tuple[str, str], None]] = {}
    for system, tank in pairs:
        systems.setdefault(name_key(system), system)
        tanks.setdefault(name_key(tank), {})[system, tank] = None
    return KnownPlaces(systems, {key: tuple(found) for key, found in tanks.items()})


def strains(connection: Connection) -> list[str]:
    """Return every strain as it is spelled."""
    return list(connection.execute(select(pieces.c.strain).distinct()).scalars())


def states_of_strain(connection: Connection, strain: str) -> States:
    """Return every piece of a strain, those that are gone too."""
    keys = connection.execute(select(pieces.c.key).where(pieces.c.strain == strain)).scalars()
    return projections.known_states(connection, keys)


def states_around(connection: Connection, names: Collection[str], strains: Collection[str]) -> States:
    """Return what a new row must agree with: pieces of some strains, some by name, and one of every tank."""
    one_a_tank = select(func.min(pieces.c.id)).group_by(pieces.c.system, pieces.c.tank)
    wanted = pieces.c.strain.in_(list(strains)) | pieces.c.id.in_(one_a_tank)
    keys = list(connection.execute(select(pieces.c.key).where(wanted)).scalars())
    return projections.known_states(connection, {*keys, *(name_key(name) for name in names)})


def last_days(connection: Connection, keys: Collection[str], kind: Kind) -> dict[str, date]:
    """Return for each piece the day of its latest event of a kind."""
    query = (
        select(events.c.piece_key, func.max(events.c.at))
        .where(events.c.piece_key.in_(list(keys)), events.c.kind == kind.value)
        .group_by(events.c.piece_key)
    )
    return {row[0]: row[1].date() for row in connection.execute(query)}


def events_of(connection: Connection, keys: Collection[str]) -> dict[str, list[Event]]:
    """Return all events of some pieces by key, in the order of entry."""
    found: dict[str, list[Event]] = {key: [] for key in keys}
    wanted = sorted(found)
    for start in range(0, len(wanted), 500):
        some = events.c.piece_key.in_(wanted[start : start + 500])
        for row in connection.execute(select(events).where(some).order_by(events.c.seq)):
            found[row[2]].append(event_of(row))
    return found


def action_of(connection: Connection, number: int) -> list[Event]:
    """Return all events that were entered together with the event of that number; none if there is none."""
    one = connection.execute(select(events).where(events.c.seq == number)).first()
    if one is None:
        return []
    mark = (one.batch, one.recorded_at)
    before = _with_mark(connection, number, mark, back=True)
    after = _with_mark(connection, number, mark, back=False)
    return [*reversed(before), event_of(one), *after]


def latest_numbers(connection: Connection, below: int, at_most: int = 200) -> list[tuple[int, str]]:
    """Return numbers and kinds of the latest events below a number, the latest first."""
    query = select(events.c.seq, events.c.kind).where(events.c.seq < below).order_by(events.c.seq.desc())
    return [(row[0], row[1]) for row in connection.execute(query.limit(at_most))]


def latest_events(connection: Connection, at_most: int) -> list[Event]:
    """Return the latest events, the oldest of them first."""
    rows = connection.execute(select(events).order_by(events.c.seq.desc()).limit(at_most)).all()
    return [event_of(row) for row in reversed(rows)]


def _names_from(connection: Connection, start: str, at_most: int | None) -> list[str]:
    between = pieces.c.key.between(start, start + _AFTER_ALL)
    query = select(pieces.c.piece).where(between).order_by(pieces.c.key)
    return list(connection.execute(query if at_most is None else query.limit(at_most)).scalars())


def _with_mark(connection: Connection, number: int, mark: tuple[str, object], *, back: bool) -> list[Event]:
    """Return the unbroken run of events next to `number` that bear the same mark."""
    found: list[Event] = []
    while True:
        last = found[-1].seq if found else number
        query = select(events).where(events.c.seq < last if back else events.c.seq > last)
        query = query.order_by(events.c.seq.desc() if back else events.c.seq).limit(500)
        rows = connection.execute(query).all()
        same = 0
        for row in rows:
            if (row.batch, row.recorded_at) != mark:
                break
            found.append(event_of(row))
            same += 1
        if same < len(rows) or not rows:
            return found

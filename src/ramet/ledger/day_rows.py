"""What a day asks of the ledger, each answer a query or two whatever the size of the stock."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, case, func, or_, select

from ramet.domain.events import Kind, Standing, day_start
from ramet.domain.piece import name_key
from ramet.domain.words import Form
from ramet.ledger.rows import undone
from ramet.ledger.tables import events, pieces

_ALIVE = pieces.c.standing == Standing.ALIVE.value
_ALIVE_IN_PASSING = func.coalesce(pieces.c.standing, "") == Standing.ALIVE.value
"""The same for a pass over the whole table, which an index would make the database jump about in."""


@dataclass(frozen=True, slots=True)
class Wound:
    """A piece with a cut that may still be closing."""

    piece: str
    strain: str
    taxon: str
    form: Form
    on: date


@dataclass(frozen=True, slots=True)
class OldSizes:
    """Pieces of a tank whose sizes are old: how many, since when at least, and a few of them."""

    system: str
    tank: str
    count: int
    oldest: date
    some: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Newcomer:
    """A piece that came from elsewhere."""

    piece: str
    system: str
    on: date


def counts(connection: Connection) -> tuple[int, int]:
    """Return how many pieces are in stock, and how many of these are promised."""
    promised = func.count(case((pieces.c.promised_to.is_not(None), 1)))
    row = connection.execute(select(func.count(), promised).where(_ALIVE_IN_PASSING)).one()
    return int(row[0]), int(row[1])


def wounds_since(connection: Connection, day: date) -> tuple[Wound, ...]:
    """Return the pieces in stock that were cut, or cut from, on a day or after it."""
    names = ("piece", "strain", "taxon", "form", "cut_on", "wounded_on")
    recent = or_(pieces.c.cut_on >= day, pieces.c.wounded_on >= day)
    rows = connection.execute(select(*(pieces.c[name] for name in names)).where(_ALIVE_IN_PASSING, recent))
    return tuple(
        Wound(row[0], row[1], row[2], Form(row[3]), max(one for one in (row[4], row[5]) if one is not None))
        for row in rows
    )


def old_sizes(connection: Connection, day: date, most_names: int) -> tuple[OldSizes, ...]:
    """Return for each tank the pieces whose sizes are of a day or older."""
    old = pieces.c.sized_on <= day
    tank = (pieces.c.system, pieces.c.tank)
    query = (
        select(*tank, func.count(), func.min(pieces.c.sized_on)).where(_ALIVE_IN_PASSING, old).group_by(*tank)
    )
    return tuple(
        OldSizes(row[0], row[1], int(row[2]), row[3], _some(connection, row[0], row[1], old, most_names))
        for row in connection.execute(query.order_by(*tank)).all()
    )


def newcomers(connection: Connection, since: date, until: date) -> tuple[Newcomer, ...]:
    """Return pieces in stock that were acquired in a span of days, both included, and not cut here."""
    came = and_(pieces.c.acquired_on >= since, pieces.c.acquired_on <= until, pieces.c.parent.is_(None))
    query = select(pieces.c.piece, pieces.c.system, pieces.c.acquired_on).where(_ALIVE_IN_PASSING, came)
    return tuple(Newcomer(*row) for row in connection.execute(query))


def looks_since(connection: Connection, day: date) -> dict[str, date]:
    """Return by the key of a piece or system the last day on which it was inspected, from a day on."""
    columns = (events.c.seq, events.c.piece, events.c.system, events.c.at)
    query = select(*columns).where(events.c.kind == Kind.INSPECTED.value, events.c.at >= day_start(day))
    gone = undone(connection)
    found: dict[str, date] = {}
    for seq, piece, system, at in connection.execute(query):
        key = name_key(piece or system or "")
        if seq not in gone:
            found[key] = max(at.date(), found.get(key, at.date()))
    return found


def last_readings(connection: Connection, until: date) -> dict[str, date]:
    """Return by the key of a system the day of its last water reading up to a day."""
    read = (events.c.kind == Kind.WATER.value) & (events.c.at <= day_start(until))
    query = select(events.c.system, func.max(events.c.at)).where(read).group_by(events.c.system)
    if gone := undone(connection):
        query = query.where(events.c.seq.not_in(gone))
    return {name_key(system or ""): at.date() for system, at in connection.execute(query)}


def systems_in_use(connection: Connection) -> tuple[str, ...]:
    """Return the systems that hold a piece in stock, in order."""
    query = select(pieces.c.system).where(_ALIVE).distinct().order_by(pieces.c.system)
    return tuple(connection.execute(query).scalars())


def _some(
    connection: Connection, system: str, tank: str, old: ColumnElement[Any], most: int
) -> tuple[str, ...]:
    here = (pieces.c.system == system) & (pieces.c.tank == tank)
    query = select(pieces.c.piece).where(_ALIVE_IN_PASSING, here, old).limit(most)
    return tuple(sorted(connection.execute(query).scalars()))


def stock_by_system(connection: Connection) -> dict[str, int]:
    """Return how many pieces are in stock in each system, in order."""
    query = select(pieces.c.system, func.count()).where(_ALIVE).group_by(pieces.c.system)
    return {row[0]: int(row[1]) for row in connection.execute(query.order_by(pieces.c.system))}


def last_looks(connection: Connection, until: date) -> dict[str, date]:
    """Return by the key of a system the last day on which it, or a piece that is in it now, was inspected."""
    inspected = (events.c.kind == Kind.INSPECTED.value) & (events.c.at <= day_start(until))
    of_pieces = (
        select(pieces.c.system, func.max(events.c.at))
        .join(pieces, pieces.c.key == events.c.piece_key)
        .where(inspected, _ALIVE)
        .group_by(pieces.c.system)
    )
    of_systems = select(events.c.system, func.max(events.c.at)).where(inspected).group_by(events.c.system)
    found: dict[str, date] = {}
    for query in (of_pieces, of_systems):
        for system, at in connection.execute(query):
            if system is not None:
                key = name_key(system)
                found[key] = max(at.date(), found.get(key, at.date()))
    return found

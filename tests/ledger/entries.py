"""Small entries for tests of the ledger."""

from datetime import UTC, date, datetime
from pathlib import Path

import psycopg

from ramet.domain.events import Entry, Kind, day_start
from ramet.domain.piece import Piece
from ramet.domain.words import Form
from ramet.ledger.fold import piece_payload

NOON = datetime(2027, 1, 5, 12, tzinfo=UTC)


def fixed_clock() -> datetime:
    return NOON


def a_piece(name: str, system: str = "north", **more: object) -> Piece:
    return Piece(name, "Ember", "Acropora sp.", Form.BRANCHING, system, "n1", 50.0, 40.0, 45.0, **more)  # type: ignore[arg-type]


def acquired(name: str, system: str = "north", on: date = date(2027, 1, 1), **more: object) -> Entry:
    return Entry(Kind.ACQUIRED, day_start(on), piece_payload(a_piece(name, system, **more)), name)


def happened(kind: Kind, name: str, on: date = date(2027, 1, 2), **payload: object) -> Entry:
    return Entry(kind, day_start(on), payload, name)


def empty(place: str) -> None:
    """Make a place as it was before it held a ledger."""
    if "://" not in place:
        for suffix in ("", "-wal", "-shm"):
            Path(place + suffix).unlink(missing_ok=True)
        return
    with psycopg.connect(place, autocommit=True) as connection:
        connection.execute("DROP SCHEMA public CASCADE")
        connection.execute("CREATE SCHEMA public")

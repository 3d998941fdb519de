"""What differs between databases, in one place: how they are opened, and how edits of events are refused."""

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, event, make_url
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem

BUSY_S = 30.0

_SQLITE_GUARDS = (
    "CREATE TRIGGER events_are_not_edited BEFORE UPDATE ON events "
    "BEGIN SELECT RAISE(ABORT, 'events are never edited'); END",
    "CREATE TRIGGER events_are_not_removed BEFORE DELETE ON events "
    "BEGIN SELECT RAISE(ABORT, 'events are never removed'); END",
)
_POSTGRESQL_GUARDS = (
    "CREATE FUNCTION refuse_event_edits() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RAISE EXCEPTION 'events are never edited or removed'; END $$",
    "CREATE TRIGGER events_are_not_edited BEFORE UPDATE OR DELETE ON events "
    "FOR EACH ROW EXECUTE FUNCTION refuse_event_edits()",
)


def database_url(place: str) -> URL:
    """Return the address of a ledger given as a path of a file or as a URL. Raises BadInput."""
    if "://" not in place:
        return URL.create("sqlite", database=place)
    try:
        url = make_url(place)
    except ArgumentError:
        raise BadInput([_bad_place(place)]) from None
    if url.get_backend_name() == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if url.get_backend_name() != "sqlite" or not url.database:
        raise BadInput([_bad_place(place)])
    return url


def file_of(url: URL) -> Path | None:
    """Return the file behind an address, or None for a server."""
    return Path(str(url.database)) if url.get_backend_name() == "sqlite" else None


def prepare(engine: Engine) -> None:
    """Set up each new connection. SQLite: write-ahead log, own BEGIN, and waiting for a lock."""
    if engine.dialect.name != "sqlite":
        return

    @event.listens_for(engine, "connect")
    def on_connect(connection: sqlite3.Connection, _: Any) -> None:
        # The driver would begin a transaction late, after the first read; ramet says BEGIN itself.
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout = {int(BUSY_S * 1000)}")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = NORMAL")

    @event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        # IMMEDIATE: a writer takes its lock before it reads what it decides on.
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def forbid_edits(connection: Connection) -> None:
    """Make the database itself refuse to edit or remove an event."""
    guards = _SQLITE_GUARDS if connection.dialect.name == "sqlite" else _POSTGRESQL_GUARDS
    for statement in guards:
        connection.exec_driver_sql(statement)


def allow_edits(connection: Connection) -> None:
    """Undo `forbid_edits`, for the way back of a migration."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("DROP TRIGGER events_are_not_edited")
        connection.exec_driver_sql("DROP TRIGGER events_are_not_removed")
        return
    connection.exec_driver_sql("DROP TRIGGER events_are_not_edited ON events")
    connection.exec_driver_sql("DROP FUNCTION refuse_event_edits()")


def _bad_place(place: str) -> Problem:
    # A URL may hold a password: show its kind only.
    shown = place.split("://", 1)[0] + "://…"
    return Problem(Place("--ledger"), shown, "a path, or a URL that starts with sqlite:/// or postgresql://")

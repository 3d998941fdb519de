"""What differs between databases, in one place: how they are opened, and how edits of events are refused."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Any, cast

from sqlalchemy import ColumnElement, Connection, Engine, Integer, event, make_url, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import FunctionElement

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.domain.problems import Place, Problem

BUSY_S = 30.0
_CACHE_KB = 64_000
_WRITERS_LOCK = 0x72616D6574
"""The number under which writers of one PostgreSQL database wait for each other: “ramet” in bytes."""

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
_SQLITE_TEXT = (
    "CREATE VIRTUAL TABLE pieces_text USING fts5"
    "(search, content='pieces', content_rowid='id', detail='none', columnsize=0)",
    "CREATE TRIGGER pieces_text_shrinks AFTER DELETE ON pieces "
    "BEGIN INSERT INTO pieces_text(pieces_text, rowid, search) VALUES ('delete', old.id, old.search); END",
    "CREATE TRIGGER pieces_text_changes AFTER UPDATE OF search ON pieces WHEN old.search <> new.search "
    "BEGIN INSERT INTO pieces_text(pieces_text, rowid, search) VALUES ('delete', old.id, old.search); "
    "INSERT INTO pieces_text(rowid, search) VALUES (new.id, new.search); END",
)
_POSTGRESQL_TEXT = ("CREATE INDEX pieces_by_text ON pieces USING gin (to_tsvector('simple', search))",)


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


def copy_online(source: Path, target: Path) -> None:
    """Copy a ledger's file as it is at one moment, while others read and write it, and check the copy.

    Raises BrokenEnvironment when the copy, and so most likely the ledger itself, is damaged.
    """
    with closing(sqlite3.connect(source)) as ledger, closing(sqlite3.connect(target)) as copy:
        ledger.execute(f"PRAGMA busy_timeout = {int(BUSY_S * 1000)}")
        # All pages in one step: in smaller steps each write of another process would begin it afresh.
        ledger.backup(copy, pages=-1)
        copy.execute("PRAGMA journal_mode = DELETE")
        found = copy.execute("PRAGMA quick_check").fetchone()[0]
    if found != "ok":
        raise BrokenEnvironment(f"the file “{source}” is damaged: {found}")


def settle(path: Path) -> None:
    """Bring all that is written into a ledger's file itself, so that it can be moved alone."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def prepare(engine: Engine) -> None:
    """Set up each new connection, and how its transactions begin.

    A reader sees one moment of the ledger. A writer takes its lock before it reads what it decides on, so
    that writers go one after the other and the events are numbered without gaps.
    """
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _open_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        event.listen(engine, "begin", _begin_postgresql)


def _open_sqlite(connection: sqlite3.Connection, _: Any) -> None:
    # The driver would begin a transaction late, after the first read; ramet says BEGIN itself.
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {int(BUSY_S * 1000)}")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = NORMAL")
    # The usual 2 MB make a large import read its own indexes again and again.
    connection.execute(f"PRAGMA cache_size = -{_CACHE_KB}")


def _begin_sqlite(connection: Connection) -> None:
    connection.exec_driver_sql("BEGIN IMMEDIATE" if _writes(connection) else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    if _writes(connection):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{int(BUSY_S * 1000)}ms'")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITERS_LOCK})")
    else:
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")


def _writes(connection: Connection) -> bool:
    return bool(connection.get_execution_options().get("writes", False))


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


def index_text(connection: Connection) -> None:
    """Make the words of the table of pieces quick to find. Needs no extension of either database."""
    for statement in _SQLITE_TEXT if connection.dialect.name == "sqlite" else _POSTGRESQL_TEXT:
        connection.exec_driver_sql(statement)


def index_new_words(connection: Connection, after: int) -> None:
    """Take the words of the pieces with an id above `after` into the index.

    SQLite would do so by a trigger for each piece, which takes ten times as long.
    """
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(
            "INSERT INTO pieces_text(rowid, search) SELECT id, search FROM pieces WHERE id > ?", (after,)
        )


def has_words(connection: Connection, words: Sequence[str]) -> ColumnElement[bool]:
    """Return the condition that a piece has, for each of `words`, a word that begins with it."""
    if connection.dialect.name == "sqlite":
        match = " ".join(f'"{word}"*' for word in words)
        looked_up = text("pieces.id IN (SELECT rowid FROM pieces_text WHERE pieces_text MATCH :words)")
        return cast("ColumnElement[bool]", looked_up.bindparams(words=match))
    match = " & ".join(f"'{word}':*" for word in words)
    found = text("to_tsvector('simple', pieces.search) @@ to_tsquery('simple', :words)")
    return cast("ColumnElement[bool]", found.bindparams(words=match))


def _bad_place(place: str) -> Problem:
    # A URL may hold a password: show its kind only.
    shown = place.split("://", 1)[0] + "://…"
    return Problem(Place("--ledger"), shown, "a path, or a URL that starts with sqlite:/// or postgresql://")


class DayNumber(FunctionElement[int]):
    """Days from 1 January 1970 to the day in a column; nothing for nothing."""

    inherit_cache = True
    type = Integer()


@compiles(DayNumber, "sqlite")
def _day_number_sqlite(element: DayNumber, compiler: SQLCompiler, **options: Any) -> str:
    day = compiler.process(element.clauses, **options)
    return f"CAST(julianday({day}) - 2440587.5 AS INTEGER)"


@compiles(DayNumber, "postgresql")
def _day_number_postgresql(element: DayNumber, compiler: SQLCompiler, **options: Any) -> str:
    return f"({compiler.process(element.clauses, **options)} - DATE '1970-01-01')"

"""A ledger that is open: entries go in, events and states come out."""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, create_engine, func, insert, select
from sqlalchemy.exc import DatabaseError, OperationalError

from ramet.domain.errors import BadInput, BrokenEnvironment, StaleWrite
from ramet.domain.events import Entry, Event
from ramet.domain.piece import name_key
from ramet.domain.problems import Place, Problem
from ramet.ledger import dialect, projections, schema
from ramet.ledger.tables import events as events_table

Clock = Callable[[], datetime]
Decide = Callable[[Connection, int], Sequence[Entry]]
_CANONICAL = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False, check_circular=False
)


@dataclass(frozen=True, slots=True)
class Written:
    """The version of the ledger after a write, and how many events it added."""

    version: int
    events: int


class Ledger:
    """An open ledger. Every entry is written in one transaction together with the states it changes.

    `shown` is its path or URL as it may be shown: without a password.
    """

    def __init__(self, place: str, clock: Clock) -> None:
        self._clock = clock
        url = dialect.database_url(place)
        self.shown = url.render_as_string(hide_password=True) if "://" in place else place
        try:
            self._engine = create_engine(url, json_serializer=_CANONICAL.encode)
        except ModuleNotFoundError as error:
            raise BrokenEnvironment(
                f"a ledger on PostgreSQL needs the Python package “{error.name}”, which is not installed"
            ) from error
        dialect.prepare(self._engine)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of all connections."""
        self._engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Hand out a connection that sees one moment of the ledger."""
        with self._troubles_told(), self._engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Hand out a connection that commits at the end, and rolls back on any error."""
        with (
            self._troubles_told(),
            self._engine.connect().execution_options(writes=True) as connection,
            connection.begin(),
        ):
            yield connection

    @contextmanager
    def _troubles_told(self) -> Iterator[None]:
        """Say in words what keeps the database from working: a lock, a full disk, a server that is away."""
        try:
            yield
        except OperationalError as error:
            raise BrokenEnvironment(f"the ledger “{self.shown}” cannot be used now: {error.orig}") from error

    def append(
        self,
        entries: Sequence[Entry],
        *,
        read_version: int,
        recorded_by: str,
        batch: str,
        alone: bool = False,
    ) -> int:
        """Enter all of `entries` or none, and return the new version of the ledger.

        `read_version` is the version that the writer had read. Raises StaleWrite when one of the pieces
        was changed since; with `alone`, when anything at all was entered since.
        """

        def decide(_: Connection, found: int) -> Sequence[Entry]:
            if alone and found != read_version:
                raise StaleWrite("the ledger", read_version, found)
            return entries

        return self.enter(decide, recorded_by=recorded_by, batch=batch, read_version=read_version).version

    def enter(self, decide: Decide, *, recorded_by: str, batch: str, read_version: int | None) -> Written:
        """Read, decide and write in one transaction, with no other writer in between.

        `decide` is handed the connection and the version of the ledger. `read_version` is the version that
        the user had seen, or None: StaleWrite is raised when one of the pieces was changed since.
        """
        with self.writing() as connection:
            found = version_of(connection)
            entries = decide(connection, found)
            now = self._clock()
            named = f"{batch} #{found + 1}"
            numbered = [
                Event(found + n, entry, now, recorded_by, named) for n, entry in enumerate(entries, start=1)
            ]
            projections.carry_forward(connection, numbered, read_version)
            insert_events(connection, numbered)
            return Written(found + len(numbered), len(numbered))


def open_ledger(place: str, *, create: bool = False, clock: Clock | None = None) -> Ledger:
    """Open a ledger by the path of its file or by its URL and bring its tables up to date.

    A missing file is an error unless `create` is given.
    """
    path = dialect.file_of(dialect.database_url(place))
    if path is not None and not create and not exists(place):
        raise BadInput([Problem(Place(place), None, "a ledger (`ramet import` makes one from a stock list)")])
    if path is not None and not path.parent.is_dir():
        raise BadInput([Problem(Place(place), str(path.parent), "a folder that exists, to hold the ledger")])
    ledger = Ledger(place, clock or _utc_now)
    try:
        _bring_up_to_date(ledger)
    except DatabaseError as error:
        ledger.close()
        raise BadInput([Problem(Place(ledger.shown), None, f"a ledger of ramet ({error.orig})")]) from error
    except BaseException:
        ledger.close()
        raise
    return ledger


def exists(place: str) -> bool:
    """Tell whether a ledger is there to be read. A server is asked only when it is opened."""
    path = dialect.file_of(dialect.database_url(place))
    return path is None or (path.is_file() and path.stat().st_size > 0)


def remove_files(place: str) -> None:
    """Remove the files of a ledger that is none, such as one that nothing was entered into."""
    path = dialect.file_of(dialect.database_url(place))
    if path is not None:
        for suffix in ("", "-wal", "-shm"):
            path.with_name(path.name + suffix).unlink(missing_ok=True)


def version_of(connection: Connection) -> int:
    """Return the number of events in the ledger."""
    return int(connection.execute(select(func.coalesce(func.max(events_table.c.seq), 0))).scalar_one())


def _bring_up_to_date(ledger: Ledger) -> None:
    with ledger.reading() as connection:
        if schema.revision(connection) == schema.HEAD:
            return
    with ledger.writing() as connection:
        schema.bring_up_to_date(connection)


def insert_events(connection: Connection, events: Sequence[Event]) -> None:
    """Write events as they are, numbers and all."""
    rows = [
        {
            "seq": event.seq,
            "kind": event.entry.kind.value,
            "piece_key": None if event.entry.piece is None else name_key(event.entry.piece),
            "piece": event.entry.piece,
            "system": event.entry.system,
            "at": event.entry.at,
            "payload": dict(event.entry.payload),
            "recorded_at": event.recorded_at,
            "recorded_by": event.recorded_by,
            "batch": event.batch,
        }
        for event in events
    ]
    if rows:
        connection.execute(insert(events_table), rows)


def _utc_now() -> datetime:
    return datetime.now(UTC)

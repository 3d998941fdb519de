"""A ledger of any released version opens in this one with nothing lost.

`released/` holds a dump of a small ledger for each schema that was released, on each database; it was
written by that version itself and is never changed.
"""

import sqlite3
from datetime import date
from pathlib import Path

import psycopg
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from entries import fixed_clock, happened, is_ours
from sqlalchemy import text
from sqlalchemy.exc import DatabaseError

from ramet.domain.events import Kind, Standing
from ramet.ledger import open_ledger, schema
from ramet.ledger.queries import contents
from ramet.ledger.stock_page import StockQuery, stock_page
from ramet.ledger.tables import metadata
from ramet.services.verify import verify

RELEASED = Path(__file__).parent / "released"
VERSIONS = sorted({path.name.split(".")[0] for path in RELEASED.glob("*.sql")})


@pytest.fixture(params=VERSIONS)
def old(request: pytest.FixtureRequest, place: str) -> str:
    """A place that holds the ledger of a released version."""
    kind = "postgresql" if "://" in place else "sqlite"
    dump = (RELEASED / f"{request.param}.{kind}.sql").read_text("utf-8")
    if kind == "sqlite":
        connection = sqlite3.connect(place)
        connection.executescript(dump)
        connection.close()
        return place
    with psycopg.connect(place, autocommit=True) as server:
        server.execute(dump)  # type: ignore[arg-type]
    return place


def test_every_piece_event_and_record_is_there(old: str) -> None:
    with open_ledger(old) as ledger:
        found = contents(ledger)
    assert verify(old).differences == ()
    assert found.version == 10
    told = [(s.piece.piece, s.piece.system, s.piece.length_mm, s.standing) for s in found.states.values()]
    assert sorted(told) == [
        ("E1", "south", 95.0, Standing.ALIVE),
        ("E2", "north", 40.0, Standing.ALIVE),
        ("L1", "south", 30.0, Standing.LOST),
        ("Straße", "south", 60.0, Standing.ALIVE),
    ]
    assert found.states["e1"].arrived_on == date(2027, 1, 15)
    assert [record.temperature_c for record in found.water] == [25.5]
    assert [record.pest for record in found.health] == ["acropora_flatworm"]


def test_the_tables_are_those_of_a_new_ledger_and_work(old: str) -> None:
    with open_ledger(old, clock=fixed_clock) as ledger:
        with ledger.reading() as connection:
            assert schema.revision(connection) == schema.HEAD
            context = MigrationContext.configure(connection, opts={"include_name": is_ours})
            assert compare_metadata(context, metadata) == []
        entry = happened(Kind.MEASURED, "E1", date(2027, 1, 20), length_mm=99.0)
        assert ledger.append([entry], read_version=10, recorded_by="me", batch="b") == 11
        assert [row.state.piece.piece for row in stock_page(ledger, StockQuery(text="stras")).rows] == [
            "Straße"
        ]


def test_events_stay_guarded(old: str) -> None:
    with (
        open_ledger(old) as ledger,
        pytest.raises(DatabaseError, match="events are never"),
        ledger.writing() as connection,
    ):
        connection.execute(text("DELETE FROM events WHERE seq = 1"))

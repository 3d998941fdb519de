"""A new ledger and one that was migrated have the same tables; a failed migration stays pending."""

import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from entries import acquired, is_ours
from sqlalchemy import Connection

from ramet.domain.errors import BrokenEnvironment
from ramet.ledger import Ledger, open_ledger, schema
from ramet.ledger.dialect import allow_edits
from ramet.ledger.queries import contents
from ramet.ledger.tables import metadata


def tables_of(path: Path) -> list[tuple[str, str]]:
    """Return tables, columns, indexes and triggers as the database itself describes them."""
    connection = sqlite3.connect(path)
    found = []
    for name, kind, sql in connection.execute("SELECT name, type, sql FROM sqlite_master ORDER BY name"):
        if kind == "table":
            found.append((name, str(sorted(connection.execute(f"PRAGMA table_info({name})")))))
        else:
            found.append((name, " ".join(str(sql).split())))
    connection.close()
    return found


def bare_ledger(path: Path) -> Ledger:
    return Ledger(str(path), lambda: pytest.fail("no clock needed"))


def test_the_known_head_is_the_newest_migration(tmp_path: Path) -> None:
    with bare_ledger(tmp_path / "a.db") as ledger, ledger.writing() as connection:
        script = ScriptDirectory.from_config(schema.migration_config(connection))
        assert script.get_heads() == [schema.HEAD]


def test_migrating_gives_the_same_tables_as_creating(tmp_path: Path) -> None:
    with bare_ledger(tmp_path / "created.db") as ledger, ledger.writing() as connection:
        schema.create(connection)
    with bare_ledger(tmp_path / "migrated.db") as ledger, ledger.writing() as connection:
        schema.migrate(connection)
        assert schema.revision(connection) == schema.HEAD
        context = MigrationContext.configure(connection, opts={"include_name": is_ours})
        assert compare_metadata(context, metadata) == []
    assert tables_of(tmp_path / "created.db") == tables_of(tmp_path / "migrated.db")


def test_a_migrated_ledger_works_and_opens_again(tmp_path: Path) -> None:
    place = tmp_path / "ramet.db"
    with bare_ledger(place) as ledger, ledger.writing() as connection:
        schema.migrate(connection)
    with open_ledger(str(place)) as ledger:
        ledger.append([acquired("E1")], read_version=0, recorded_by="me", batch="b")
        assert contents(ledger).version == 1


def test_a_migration_that_fails_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(connection: Connection) -> None:
        raise RuntimeError("power cut")

    place = tmp_path / "ramet.db"
    monkeypatch.setattr(schema, "forbid_edits", fail)
    with pytest.raises(RuntimeError):
        open_ledger(str(place), create=True)
    monkeypatch.undo()
    assert tables_of(place) == []
    with open_ledger(str(place), create=True) as ledger:
        assert contents(ledger).version == 0


def test_a_ledger_of_a_newer_ramet_is_told(tmp_path: Path) -> None:
    place = tmp_path / "ramet.db"
    open_ledger(str(place), create=True).close()
    connection = sqlite3.connect(place)
    connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.commit()
    connection.close()
    with pytest.raises(BrokenEnvironment, match="newer ramet"):
        open_ledger(str(place))


def test_the_guard_against_edits_can_be_lifted_for_a_way_back(tmp_path: Path) -> None:
    open_ledger(str(tmp_path / "ramet.db"), create=True).close()
    with bare_ledger(tmp_path / "ramet.db") as ledger, ledger.writing() as connection:
        allow_edits(connection)
    assert not [name for name, _ in tables_of(tmp_path / "ramet.db") if name.startswith("events_are_not")]

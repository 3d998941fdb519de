"""Brings the tables of a ledger to the form this version of ramet works with."""

from importlib import resources
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text

from ramet.domain.errors import BrokenEnvironment
from ramet.ledger import projections
from ramet.ledger.dialect import forbid_edits, index_text
from ramet.ledger.rows import all_events
from ramet.ledger.tables import metadata

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0004"
"""The newest migration. A test compares it with the folder of migrations."""


def is_empty(connection: Connection) -> bool:
    """Tell whether a database has no tables at all."""
    return not inspect(connection).get_table_names()


def bring_up_to_date(connection: Connection) -> None:
    """Create the tables of an empty database, or run the migrations that it has not seen."""
    found = revision(connection)
    if found == HEAD:
        return
    if found is None and is_empty(connection):
        create(connection)
        return
    if found is None:
        raise BrokenEnvironment("this database holds tables of something else; name another ledger")
    migrate(connection)
    projections.rebuild(connection, all_events(connection))


def revision(connection: Connection) -> str | None:
    """Return the migration that a database stands at, or None when it was never a ledger."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def create(connection: Connection) -> None:
    """Create all tables at once and say so in the form that the migrations read.

    Loading the migration machinery would double the time of a first import; a test holds that both
    ways give the same tables.
    """
    metadata.create_all(connection)
    forbid_edits(connection)
    index_text(connection)
    connection.exec_driver_sql("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY)")
    connection.execute(text("INSERT INTO alembic_version VALUES (:head)"), {"head": HEAD})


def migrate(connection: Connection) -> None:
    """Run the migrations that a ledger has not seen, inside the caller's transaction."""
    from alembic import command
    from alembic.util import CommandError

    try:
        command.upgrade(migration_config(connection), "head")
    except CommandError as error:
        raise BrokenEnvironment(
            f"this ledger was written by a newer ramet ({error}); upgrade ramet to read it"
        ) from error


def migration_config(connection: Connection) -> "Config":
    """Return what the migration machinery needs to work on an open connection."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(resources.files("ramet.ledger") / "migrations"))
    config.attributes["connection"] = connection
    return config

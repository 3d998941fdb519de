"""What all tests share: hypothesis draws the same examples every time, and a slow machine is no failure."""

import os
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("ramet", deadline=None, derandomize=True)
settings.load_profile("ramet")


@pytest.fixture(scope="session")
def postgresql_socket() -> Iterator[str]:
    """The folder of the socket of a PostgreSQL server; without one such tests are skipped, and say so."""
    from postgresql_server import programs, running_server

    if programs() is None:
        if os.environ.get("RAMET_REQUIRE_ALL") == "1":
            pytest.fail("PostgreSQL is not installed, and RAMET_REQUIRE_ALL=1 lets nothing be skipped")
        pytest.skip("NOT RUN: PostgreSQL is not installed (Debian: apt-get install postgresql)")
    with running_server() as socket:
        yield socket


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Where an empty ledger goes: a file, and then a database of a PostgreSQL server."""
    if request.param == "sqlite":
        yield str(tmp_path / "ramet.db")
        return
    from postgresql_server import drop_database, new_database

    socket = request.getfixturevalue("postgresql_socket")
    name = f"t{uuid.uuid4().hex[:12]}"
    yield new_database(socket, name)
    drop_database(socket, name)

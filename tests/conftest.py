"""What all tests share: hypothesis draws the same examples every time, and a slow machine is no failure."""

import os
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
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where an empty ledger goes: a file, and then the database of a PostgreSQL server."""
    if request.param == "sqlite":
        return str(tmp_path / "ramet.db")
    from postgresql_server import emptied

    return emptied(request.getfixturevalue("postgresql_socket"))

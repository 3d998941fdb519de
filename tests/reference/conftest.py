"""A copy of the shipped tables that a test may spoil."""

import shutil
from pathlib import Path

import pytest

from ramet.reference.tables import DATA, Reference, load_reference


@pytest.fixture(scope="session")
def reference() -> Reference:
    return load_reference()


@pytest.fixture
def tables(tmp_path: Path) -> Path:
    folder = tmp_path / "tables"
    folder.mkdir()
    for path in DATA.glob("*.csv"):
        shutil.copy(path, folder)
    return folder

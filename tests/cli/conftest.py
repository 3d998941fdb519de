"""A shell to call the program from, and a ledger that holds the smallest stock."""

from pathlib import Path

import pytest
from shell import Shell
from small_texts import SMALLEST_STOCK, TODAY

from ramet.reference.tables import load_reference
from ramet.services.import_stock import import_files


@pytest.fixture
def shell(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Shell:
    """Calls the program and returns its exit code and what it printed."""
    return Shell(monkeypatch, capsys)


@pytest.fixture(scope="session")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A ledger with the smallest stock; only for tests that do not write to it."""
    from datetime import date

    folder = tmp_path_factory.mktemp("small")
    (folder / "stock.csv").write_text(SMALLEST_STOCK)
    import_files(
        str(folder / "ramet.db"), [folder / "stock.csv"], load_reference(), date.fromisoformat(TODAY)
    )
    return folder / "ramet.db"

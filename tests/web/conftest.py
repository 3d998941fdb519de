"""Clients and browsers over small invented ledgers."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from chromium import ARGUMENTS, chromium
from playwright.sync_api import Browser, sync_playwright
from small_shop import TODAY as SHOP_TODAY
from small_shop import on_the_shelf, small_ledger
from visitors import Running, Visitor

from ramet.reference.tables import load_reference
from ramet.services.demo import DEMO_TODAY
from ramet.services.sample import lay_out_sample
from ramet.web.config import WebConfig


@pytest.fixture(scope="session")
def demo_ledger(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's stock in a ledger; to be copied, not written to."""
    ledger = tmp_path_factory.mktemp("demo") / "own" / "ramet.db"
    lay_out_sample(ledger, load_reference())
    return ledger


@pytest.fixture
def ledger(demo_ledger: Path, tmp_path: Path) -> Path:
    """A copy of the demo's ledger."""
    copy = tmp_path / "ramet.db"
    copy.write_bytes(demo_ledger.read_bytes())
    return copy


@pytest.fixture
def owner(ledger: Path) -> Visitor:
    """The person at the machine, on the demo's stock."""
    return Visitor(WebConfig(str(ledger), today=DEMO_TODAY))


@pytest.fixture
def newcomer(tmp_path: Path) -> Visitor:
    """The person at the machine, with no ledger yet."""
    return Visitor(WebConfig(str(tmp_path / "new.db"), today=date(2026, 9, 1)))


@pytest.fixture
def stranger(ledger: Path) -> Visitor:
    """Somebody in the network of a server that others reach."""
    config = WebConfig(str(ledger), host="0.0.0.0", owner_key="right key", today=DEMO_TODAY)
    return Visitor(config, "http://192.168.1.7:8321", "192.168.1.20")


@pytest.fixture
def serving(ledger: Path) -> Iterator[str]:
    """The address of a running server on the demo's stock."""
    running = Running(WebConfig(str(ledger), today=DEMO_TODAY))
    yield running.address
    running.stop()


@pytest.fixture(scope="session")
def small_ledger_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small shop's ledger; to be copied, not written to."""
    return Path(small_ledger(tmp_path_factory.mktemp("small-shop")))


@pytest.fixture
def shop(small_ledger_once: Path, tmp_path: Path) -> Path:
    """The small shop's ledger with its planned shipment on the shelf."""
    copy = tmp_path / "shop.db"
    copy.write_bytes(small_ledger_once.read_bytes())
    on_the_shelf(str(copy))
    return copy


@pytest.fixture
def keeper(shop: Path) -> Visitor:
    """The person at the small shop's machine."""
    return Visitor(WebConfig(str(shop), today=SHOP_TODAY))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests."""
    path = chromium()
    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield one
        one.close()

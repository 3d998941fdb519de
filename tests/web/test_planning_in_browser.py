"""Planning goes on whatever happens to the page and to the server, and can be stopped."""

import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from small_shop import TODAY, on_the_shelf

from ramet.formats.plan_text import read_plan

HOME = "/shipments/small-reef"


@contextmanager
def served(ledger: Path, port: int) -> Iterator[subprocess.Popen[bytes]]:
    """A server as a user starts it, killed at the end however the test went."""
    command = [str(Path(sys.executable).parent / "ramet"), "serve", "--ledger", str(ledger)]
    command += ["--port", str(port), "--today", TODAY.isoformat()]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        try:
            for _ in range(300):
                time.sleep(0.1)
                try:
                    urllib.request.urlopen(f"http://127.0.0.1:{port}/settings", timeout=5).close()
                    break
                except OSError:
                    continue
            yield process
        finally:
            process.kill()


def free_port() -> int:
    import socket

    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@pytest.fixture
def unplanned(small_ledger_once: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "shop.db"
    copy.write_bytes(small_ledger_once.read_bytes())
    on_the_shelf(str(copy), planned=False)
    return copy


def test_a_plan_survives_a_reload_and_a_server_that_is_killed(browser: Browser, unplanned: Path) -> None:
    port = free_port()
    page = browser.new_page(base_url=f"http://127.0.0.1:{port}")
    with served(unplanned, port) as first:
        page.goto(HOME)
        page.get_by_role("button", name="Plan").first.click()
        expect(page.get_by_role("region", name="Planning")).to_be_visible()
        page.reload()
        expect(page.get_by_role("region", name="Planning")).to_be_visible()
        first.send_signal(signal.SIGKILL)
        first.wait()
    plan_file = unplanned.parent / "shop-files" / "shipments" / "small-reef" / "plan.json"
    assert not plan_file.exists()
    with served(unplanned, port):
        page.goto(HOME)
        expect(page.get_by_role("heading", name="Ready to go")).to_be_visible(timeout=120_000)
    plan = read_plan(plan_file)
    assert not isinstance(plan, tuple)
    assert (plan_file.parent / "packet.pdf").exists()
    page.close()


def test_a_plan_is_stopped_and_its_best_is_kept(browser: Browser, unplanned: Path) -> None:
    port = free_port()
    page = browser.new_page(base_url=f"http://127.0.0.1:{port}")
    with served(unplanned, port):
        page.goto(HOME)
        page.get_by_role("button", name="Plan").first.click()
        page.get_by_role("button", name="Stop").click()
        expect(page.get_by_text("Planning was stopped")).to_be_visible(timeout=120_000)
    page.close()

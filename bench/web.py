"""Pages over a ledger of a hundred thousand pieces: server time of each, and what a write makes anew.

Run: python -m bench.web [--pieces 100000] [--calls 40]

Pages are asked for inside this process, so the time is the server's alone: parsing the address, reading the
ledger, rendering, compressing. CPU time is told beside wall time, which other work on the machine disturbs.
"""

import argparse
import statistics
import tempfile
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from bench.ledger import TODAY, fill
from ramet.domain.words import Effort
from ramet.formats.plan_text import plan_text
from ramet.ledger import open_ledger
from ramet.ledger.stock_page import StockQuery, stock_page
from ramet.reference.tables import load_reference
from ramet.services.demo import DEMO_TODAY
from ramet.services.plan_shipment import PlanOrder, plan_shipment
from ramet.services.sample import lay_out_sample
from ramet.web.app import create_app
from ramet.web.config import WebConfig

HERE = "http://127.0.0.1:8321"
TARGET_MS = 100


@contextmanager
def visitor(ledger: Path, today: date) -> Iterator[object]:
    """A client of an app over a ledger."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from fastapi.testclient import TestClient

        app = create_app(WebConfig(str(ledger), today=today))
        yield TestClient(app, base_url=HERE, client=("127.0.0.1", 50000), headers={"Accept-Encoding": "gzip"})


def told(client: object, name: str, address: str, calls: int) -> None:
    """Ask for a page many times and print the 95th percentile, and the first time alone."""
    wall, cpu = [], []
    for _ in range(calls + 1):
        began, began_cpu = time.perf_counter(), time.process_time()
        answer = client.get(address)  # type: ignore[attr-defined]
        wall.append((time.perf_counter() - began) * 1e3)
        cpu.append((time.process_time() - began_cpu) * 1e3)
        assert answer.status_code == 200, (address, answer.status_code)
    p95 = statistics.quantiles(wall[1:], n=20)[-1]
    p95_cpu = statistics.quantiles(cpu[1:], n=20)[-1]
    print(
        f"{name:<26} p95 {p95:7.1f} ms (CPU {p95_cpu:6.1f}; target {TARGET_MS}), first {wall[0]:8.0f} ms",
        flush=True,
    )


def stock_pages(folder: Path, pieces: int, calls: int) -> None:
    """Time the pages that read the stock."""
    ledger = folder / "large.db"
    with open_ledger(str(ledger), create=True) as book:
        fill(book, pieces, pieces + pieces // 2)
        first = stock_page(book, StockQuery(rows=1)).rows[0].state.piece
    with visitor(ledger, date.fromisoformat(TODAY)) as client:
        for name, address in {
            "today": "/",
            "stock": "/stock",
            "stock, searched": f"/stock?q={first.piece[:3]}",
            "stock, held": "/stock?health=held",
            "stock, by size, falling": "/stock?sort=size&down=yes",
            "piece": f"/stock/piece/{first.piece}",
            "growth": f"/stock/growth/{first.piece}",
            "move": f"/stock/do/move?piece={first.piece}",
            "tanks": "/tanks",
            "tank": f"/tanks/view?system={first.system}&tank={first.tank}",
            "first steps": "/start",
            "new shipment": "/shipments/new",
            "results": "/results",
            "calendar": "/calendar",
            "settings": "/settings",
        }.items():
            told(client, name, address, calls)


def plan_pages(folder: Path, calls: int) -> None:
    """Time the pages of the demo's plan."""
    reference = load_reference()
    ledger = folder / "demo" / "ramet.db"
    lay_out_sample(ledger, reference)
    files = ledger.with_name("ramet-files")
    files.mkdir()
    (ledger.parent / "shipments").rename(files / "shipments")
    shelf = files / "shipments" / "library"
    order = PlanOrder(str(ledger), shelf / "shipment.toml", DEMO_TODAY, 1, Effort.QUICK)
    (shelf / "plan.json").write_text(plan_text(plan_shipment(order, reference, lambda _: None).plan), "utf-8")
    with visitor(ledger, DEMO_TODAY) as client:
        for name in (
            "",
            "/edit",
            "/boxes",
            "/journey",
            "/tank",
            "/calendar",
            "/packing",
            "/opening",
            "/results",
        ):
            told(client, f"shipment{name}", f"/shipments/library{name}", calls)
        told(client, "shipments", "/shipments", calls)
        told(client, "what-if of the journey", "/shipments/library/journey?water=-10", max(calls // 4, 3))


def main() -> None:
    """Run the benchmark."""
    options = argparse.ArgumentParser()
    options.add_argument("--pieces", type=int, default=100_000)
    options.add_argument("--calls", type=int, default=40)
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        print(f"{asked.pieces:,} pieces, {asked.calls} calls a page")
        stock_pages(Path(temporary), asked.pieces, asked.calls)
        print("the demo's plan")
        plan_pages(Path(temporary), asked.calls)


if __name__ == "__main__":
    main()

"""The demo: invented stock and an invented shipment, through the same services as real ones."""

from collections.abc import Callable
from datetime import date
from importlib.resources import files
from pathlib import Path

from ramet.domain.words import Effort
from ramet.reference.tables import Reference
from ramet.services.import_stock import import_files
from ramet.services.plan_shipment import Planned, PlanOrder, plan_shipment, write_packet
from ramet.services.printing import Printer

DEMO_TODAY = date(2027, 1, 4)
TABLES = ("stock.csv", "water.csv", "health.csv")
SHIPMENT = "shipment.toml"
LEDGER = "ramet.db"


def run_demo(
    folder: Path, reference: Reference, seed: int, effort: Effort, on_stage: Callable[[str], None]
) -> Planned:
    """Lay the demo's files into `folder`, import them into a fresh ledger, plan, and write the packet.

    Replaces only files of its own names.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name in (*TABLES, SHIPMENT):
        (folder / name).write_bytes((files("ramet.data") / "demo" / name).read_bytes())
    ledger = folder / LEDGER
    for suffix in ("", "-wal", "-shm"):
        ledger.with_name(ledger.name + suffix).unlink(missing_ok=True)
    on_stage("importing the demo stock")
    import_files(str(ledger), [folder / name for name in TABLES], reference, DEMO_TODAY)
    order = PlanOrder(str(ledger), folder / SHIPMENT, DEMO_TODAY, seed, effort)
    with Printer() as printer:
        planned = plan_shipment(order, reference, on_stage)
        write_packet(planned, folder, printer)
    return planned

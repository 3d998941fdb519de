"""The smallest shop that can send something: a ledger and a shipment whose plan takes a few seconds.

All names are invented.
"""

from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import small_texts

from ramet.domain.words import Effort
from ramet.formats.plan import Plan
from ramet.formats.plan_text import plan_text
from ramet.papers.calendar_file import tasks_ics
from ramet.reference.tables import load_reference
from ramet.services.beside import files_beside, write_whole
from ramet.services.import_stock import import_files
from ramet.services.plan_shipment import PlanOrder, plan_shipment

TODAY = date.fromisoformat(small_texts.TODAY)
KEY = "small-reef"
SHIPMENT = small_texts.SHOP


def small_ledger(folder: Path, place: str = "") -> str:
    """Make the ledger of the shop, in a folder unless a place is given, and return its place."""
    stock = folder / "stock.csv"
    stock.write_text(small_texts.stock_text())
    place = place or str(folder / "ramet.db")
    import_files(place, [stock], load_reference(), TODAY)
    return place


@cache
def small_shop_plan() -> Plan:
    """Return the plan of the shop's shipment, made once."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "shipment.toml").write_text(SHIPMENT)
        order = PlanOrder(small_ledger(folder), folder / "shipment.toml", TODAY, 1, Effort.QUICK)
        return plan_shipment(order, load_reference(), lambda _: None).plan


def on_the_shelf(place: str, *, planned: bool = True) -> Path:
    """Lay the shipment on the shelf beside a ledger, with its plan if asked, and return its folder."""
    folder = files_beside(place) / "shipments" / KEY
    write_whole(folder / "shipment.toml", SHIPMENT.encode())
    if planned:
        plan = small_shop_plan()
        write_whole(folder / "plan.json", plan_text(plan).encode())
        write_whole(folder / "tasks.ics", tasks_ics(plan))
    return folder

"""Sample data in a ledger of its own, so that it goes without a trace."""

import shutil
from importlib.resources import files
from pathlib import Path

from ramet.reference.tables import Reference
from ramet.services.demo import DEMO_TODAY, SHIPMENT, TABLES
from ramet.services.import_stock import import_files
from ramet.services.shelf import save_shipment


def lay_out_sample(ledger: Path, reference: Reference) -> None:
    """Make a ledger with the demo's stock at a path; one that is there stays as it is."""
    if ledger.exists():
        return
    making = ledger.parent.with_name(ledger.parent.name + ".making")
    shutil.rmtree(making, ignore_errors=True)
    making.mkdir(parents=True)
    for name in TABLES:
        (making / name).write_bytes((files("ramet.data") / "demo" / name).read_bytes())
    sample = (files("ramet.data") / "demo" / SHIPMENT).read_text("utf-8")
    save_shipment(making, "library", sample, "")
    import_files(str(making / ledger.name), [making / name for name in TABLES], reference, DEMO_TODAY)
    making.rename(ledger.parent)


def remove_sample(ledger: Path) -> None:
    """Remove the sample's folder, with everything that was done in it."""
    shutil.rmtree(ledger.parent, ignore_errors=True)

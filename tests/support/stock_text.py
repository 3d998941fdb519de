"""A stock list as text and a ledger that holds it, with readings made later."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from ramet.domain.events import Entry, Kind, day_start
from ramet.ledger import open_ledger
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.import_stock import import_files

HEAD = "piece,strain,taxon,form,parent,system,tank,length_mm,width_mm,height_mm,heads,cut_on,promised_to\n"
WATER = "system,on,temperature_c,salinity,alkalinity_meq_l\nnorth,2026-12-01,27,35,3\n"


def row(
    piece: str,
    strain: str = "Ember",
    taxon: str = "Acropora sp.",
    form: str = "branching",
    *,
    length: float = 60,
    parent: str = "",
    heads: str = "",
    cut_on: str = "",
    promised: str = "",
    tank: str = "N1",
) -> str:
    size = f"{length},{length},{length * 0.8:g}"
    return f"{piece},{strain},{taxon},{form},{parent},north,{tank},{size},{heads},{cut_on},{promised}\n"


def ledger_of(folder: Path, reference: Reference, rows: Sequence[str], on: date, health: str = "") -> Ledger:
    """Return an open ledger with these rows, entered on a day."""
    tables = {"stock.csv": HEAD + "".join(rows), "water.csv": WATER}
    if health:
        tables["health.csv"] = "on,kind,pest,piece\n" + health
    for name, text in tables.items():
        (folder / name).write_text(text)
    place = str(folder / "ramet.db")
    import_files(place, [folder / name for name in tables], reference, on)
    return open_ledger(place)


def measure(book: Ledger, piece: str, on: date, **said: object) -> None:
    with book.reading() as connection:
        from ramet.ledger.store import version_of

        version = version_of(connection)
    entry = Entry(Kind.MEASURED, day_start(on), said, piece)
    book.append([entry], read_version=version, recorded_by="me", batch="b")

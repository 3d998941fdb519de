"""A small ledger for tests of what a grower enters: invented stock."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from ramet.domain.events import PieceState
from ramet.ledger import Ledger, open_ledger
from ramet.ledger.queries import contents, history
from ramet.reference.tables import load_reference
from ramet.services.import_stock import import_files
from ramet.services.recording.recorded import Scribe
from ramet.services.verify import verify

REFERENCE = load_reference()
TODAY = date(2027, 1, 15)
STOCK = (
    "piece,strain,taxon,parent,system,tank,spot,length_mm,width_mm,height_mm,heads,acquired_on,"
    """source,permit,par
E1,Ember,Acropora sp.,,north,n1,a,100,90,80,,2026-01-01,farm F,P-1,220
E2,Ember,Acropora sp.,,north,n1,b,60,50,40,,2026-01-01,,,
T1,Trumpet,Caulastraea sp.,,north,n2,,80,80,60,12,2026-01-01,,,
Z1,Zoa,Zoanthus sp.,,south,s1,,50,50,15,40,2026-01-01,,,
"""
)


def scribe(on: date | None = None, *words: str, read_version: int | None = None) -> Scribe:
    return Scribe("me", TODAY, on, read_version, frozenset(words))


@contextmanager
def small_ledger(place: str) -> Iterator[Ledger]:
    """Hand out a ledger with the stock above; it must still verify when the test is done."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "stock.csv").write_text(STOCK)
        import_files(place, [Path(folder) / "stock.csv"], REFERENCE, TODAY)
    with open_ledger(place) as ledger:
        yield ledger
    assert verify(place).differences == ()


def states(ledger: Ledger) -> dict[str, PieceState]:
    return contents(ledger).states


def kinds(ledger: Ledger, piece: str) -> list[str]:
    return [event.entry.kind.value for event in history(ledger, piece)]

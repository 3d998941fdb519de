"""A kill at any moment of any verb leaves all of its entries in the ledger or none, and a sound ledger."""

import subprocess
import sys
from pathlib import Path

import pytest
from stock_for_tests import small_ledger

from ramet.ledger import open_ledger
from ramet.ledger.queries import contents
from ramet.services.verify import verify

CHILD = """
import os, sys
from datetime import date
from ramet.ledger import open_ledger, projections, store
from ramet.reference.tables import load_reference
from ramet.services.recording.cut import Cut, cut
from ramet.services.recording.leave import Lost, lose
from ramet.services.recording.move import Move, move
from ramet.services.recording.offspring import Child
from ramet.services.recording.recorded import Scribe
from ramet.services.recording.stock_look import Size, Where
from ramet.services.recording.undo import undo

place, verb, moment = sys.argv[1:]
scribe = Scribe("me", date(2027, 1, 15))
pair = (Child(Size(46)), Child(Size(46)))
verbs = {
    "cut": lambda book: cut(book, Cut("E1", pair), load_reference(), scribe),
    "move": lambda book: move(book, Move(("E1", "E2"), Where("s1")), scribe),
    "lost": lambda book: lose(book, Lost(("E1", "E2")), scribe),
    "undo": lambda book: undo(book, scribe),
}

def killed_at(module, name):
    whole = getattr(module, name)
    def dying(*given, **named):
        whole(*given, **named)
        os.kill(os.getpid(), 9)
    setattr(module, name, dying)

if moment == "states written":
    killed_at(projections, "carry_forward")
if moment == "events written":
    killed_at(store, "insert_events")
with open_ledger(place) as book:
    verbs[verb](book)
    if moment == "committed":
        os.kill(os.getpid(), 9)
"""
ENTRIES = {"cut": 3, "move": 2, "lost": 2, "undo": 4}


@pytest.mark.parametrize(
    ("verb", "moment"),
    [
        ("cut", "states written"),
        ("move", "events written"),
        ("lost", "committed"),
        ("undo", "states written"),
        ("undo", "events written"),
    ],
)
def test_all_or_nothing(tmp_path: Path, verb: str, moment: str) -> None:
    place = str(tmp_path / "ramet.db")
    with small_ledger(place) as ledger:
        before = contents(ledger)
    ended = subprocess.run([sys.executable, "-c", CHILD, place, verb, moment], check=False)
    assert ended.returncode == -9
    with open_ledger(place) as ledger:
        after = contents(ledger)
    assert verify(place).differences == ()
    if moment == "committed":
        assert after.version == before.version + ENTRIES[verb]
    else:
        assert after == before

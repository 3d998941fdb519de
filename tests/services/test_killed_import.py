"""A kill at any moment of an import leaves a ledger that holds either all of the file or none of it."""

import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pytest

from ramet.ledger import open_ledger
from ramet.ledger.queries import contents
from ramet.reference.tables import load_reference
from ramet.services.import_stock import import_files
from ramet.services.verify import verify

TODAY = date(2027, 1, 15)
HEAD = "piece,strain,taxon,system,tank,length_mm\n"
ROWS = 3000

CHILD = """
import os, sys
from datetime import date
from pathlib import Path
from ramet.ledger import store
from ramet.reference.tables import load_reference
from ramet.services.import_stock import import_files

whole = store.insert_events

def watched(connection, events):
    # Rows are in, the transaction is open: tell the parent, then carry on.
    whole(connection, events)
    print("written", flush=True)
    if sys.argv[3] == "wait":
        sys.stdin.read()

store.insert_events = watched
reference = load_reference()
print("begin", flush=True)
import_files(sys.argv[1], [Path(sys.argv[2])], reference, date(2027, 1, 15))
print("done", flush=True)
"""


@pytest.fixture
def place(tmp_path: Path) -> str:
    first = tmp_path / "first.csv"
    first.write_text(HEAD + "E1,Ember,Acropora sp.,north,n1,80\n")
    import_files(str(tmp_path / "ramet.db"), [first], load_reference(), TODAY)
    rows = (f"P{n},Slate,Pavona sp.,north,n1,40\n" for n in range(ROWS))
    (tmp_path / "big.csv").write_text(HEAD + "".join(rows))
    return str(tmp_path / "ramet.db")


def start(place: str, how: str) -> "subprocess.Popen[str]":
    big = str(Path(place).with_name("big.csv"))
    return subprocess.Popen(
        [sys.executable, "-c", CHILD, place, big, how],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def kill(child: "subprocess.Popen[str]") -> None:
    child.send_signal(signal.SIGKILL)
    child.communicate()


def test_a_kill_with_the_transaction_open_leaves_the_ledger_as_it_was(place: str) -> None:
    child = start(place, "wait")
    assert child.stdout is not None
    assert [child.stdout.readline().strip() for _ in range(2)] == ["begin", "written"]
    kill(child)
    with open_ledger(place) as ledger:
        assert contents(ledger).version == 1
    assert verify(place).differences == ()


@pytest.mark.parametrize("delay_s", [0.05, 0.2, 0.4])
def test_a_kill_at_any_other_moment_leaves_all_or_nothing(place: str, delay_s: float) -> None:
    child = start(place, "run")
    assert child.stdout is not None
    assert child.stdout.readline().strip() == "begin"
    time.sleep(delay_s)
    kill(child)
    with open_ledger(place) as ledger:
        assert contents(ledger).version in {1, 1 + ROWS}
    assert verify(place).differences == ()
    report = import_files(place, [Path(place).with_name("big.csv")], load_reference(), TODAY)
    assert report.pieces_added + report.pieces_unchanged == ROWS

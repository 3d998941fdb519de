"""When two write at once nobody's entry is lost: each goes in, or its writer is told."""

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest
from entries import acquired, fixed_clock, happened

from ramet.domain.errors import StaleWrite
from ramet.domain.events import Kind
from ramet.ledger import open_ledger
from ramet.ledger.queries import contents, history
from ramet.services.verify import verify

WRITERS, ENTRIES = 6, 8


@pytest.fixture
def shared(place: str) -> str:
    names = ["shared", *(f"own{n}" for n in range(WRITERS))]
    with open_ledger(place, create=True, clock=fixed_clock) as ledger:
        ledger.append([acquired(name) for name in names], read_version=0, recorded_by="me", batch="b")
    return place


def test_writers_of_different_pieces_do_not_get_in_each_others_way(shared: str) -> None:
    together = threading.Barrier(WRITERS)

    def write(number: int) -> None:
        with open_ledger(shared) as ledger:
            read = contents(ledger).version
            together.wait(timeout=30)
            for n in range(ENTRIES):
                entry = happened(Kind.MEASURED, f"own{number}", length_mm=51.0 + n)
                read = ledger.append([entry], read_version=read, recorded_by=f"w{number}", batch="b")

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(write, range(WRITERS)))
    with open_ledger(shared) as ledger:
        assert contents(ledger).version == 1 + WRITERS + WRITERS * ENTRIES
        assert {len(history(ledger, f"own{n}")) for n in range(WRITERS)} == {1 + ENTRIES}
    assert verify(shared).differences == ()


def test_of_writers_of_one_piece_that_read_the_same_exactly_one_gets_through(shared: str) -> None:
    together = threading.Barrier(WRITERS)

    def write(number: int) -> bool:
        with open_ledger(shared) as ledger:
            read = contents(ledger).version
            together.wait(timeout=30)
            try:
                entry = happened(Kind.RESERVED, "shared", date(2027, 1, 3), promised_to=f"w{number}")
                ledger.append([entry], read_version=read, recorded_by=f"w{number}", batch="b")
            except StaleWrite:
                return False
            return True

    with ThreadPoolExecutor(WRITERS) as pool:
        through = list(pool.map(write, range(WRITERS)))
    assert through.count(True) == 1
    with open_ledger(shared) as ledger:
        assert contents(ledger).states["shared"].piece.promised_to == f"w{through.index(True)}"

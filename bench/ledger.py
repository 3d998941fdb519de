"""The stock ledger at full size: a million events of a hundred thousand pieces, and a list of 50,000 rows.

Run: python -m bench.ledger [--events 1000000] [--pieces 100000] [--rows 50000]

Whole commands are timed as processes; queries are timed inside one process over an open ledger, as the
pages make them, 200 calls each after a warm-up.
"""

import argparse
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from ramet.domain.events import Entry, Event, Kind, day_start
from ramet.domain.piece import Piece
from ramet.domain.words import Form
from ramet.ledger import Ledger, open_ledger
from ramet.ledger.fold import piece_payload
from ramet.ledger.queries import history
from ramet.ledger.replay import replay
from ramet.ledger.stock_page import Sort, StockQuery, count_stock, stock_facets, stock_page

GENERA = ("Acropora", "Montipora", "Favites", "Sinularia", "Zoanthus")
TODAY = "2027-01-15"
FIRST = date(2024, 1, 1)
CALLS = 200
HEAD = (
    "piece,strain,taxon,form,parent,system,tank,spot,length_mm,width_mm,height_mm,heads,mounted_on,"
    "cut_on,acquired_on,source,permit,par,flow_cm_s,note\n"
)


def stock(rows: int, seed: int = 1) -> str:
    """Return a stock list: one mother in twenty, the others cut from them."""
    dice = random.Random(seed)
    mothers = max(1, rows // 20)
    lines = [HEAD]
    for n in range(rows):
        strain = n % mothers
        parent, cut_on = (f"p{strain}", "2026-06-01") if n >= mothers else ("", "")
        lines.append(
            f"p{n},strain {strain},{GENERA[strain % 5]} sp.,,{parent},sys{strain % 4},tank{strain % 16},"
            f"spot {n},{dice.randint(20, 120)},{dice.randint(20, 100)},,,plug,{cut_on},,own,,"
            f"{dice.randint(50, 350)},{dice.randint(5, 20)},grown from the lit side\n"
        )
    return "".join(lines)


def entries(pieces: int, events: int, seed: int = 1) -> Iterator[Entry]:
    """Return births and what happened since: mostly measurements and moves, some health, losses, water."""
    dice = random.Random(seed)
    strains = max(1, pieces // 50)
    for n in range(pieces):
        strain = n % strains
        piece = Piece(
            f"P{n}",
            f"strain {strain}",
            f"{GENERA[strain % 5]} sp.",
            Form.BRANCHING,
            f"sys{n % 8}",
            f"tank{n % 40}",
            30.0 + n % 60,
            30.0,
            30.0,
            parent=f"P{strain}" if n >= strains else None,
            spot=f"rack {n % 200}",
            cut_on=FIRST if n >= strains else None,
            note=f"row {n % 977}",
        )
        kind = Kind.CUT if n >= strains else Kind.ACQUIRED
        yield Entry(kind, day_start(FIRST), piece_payload(piece), piece.piece)
    lost: set[int] = set()
    for n in range(events - pieces):
        day = FIRST + timedelta(days=1 + n * 1000 // (events - pieces))
        at, number = day_start(day), dice.randrange(pieces)
        roll = dice.random()
        if number in lost or roll > 0.995:
            said = {"temperature_c": 25.0, "salinity": 35.0, "alkalinity_meq_l": 3.0}
            yield Entry(Kind.WATER, at, said, system=f"sys{n % 8}")
        elif roll < 0.7:
            yield Entry(Kind.MEASURED, at, {"length_mm": 30.0 + dice.random() * 90}, f"P{number}")
        elif roll < 0.95:
            where = dice.randrange(40)
            yield Entry(Kind.MOVED, at, {"system": f"sys{where % 8}", "tank": f"tank{where}"}, f"P{number}")
        elif roll < 0.99:
            yield Entry(Kind.DIPPED, at, {"dip": "iodine", "minutes": 10}, f"P{number}")
        else:
            lost.add(number)
            yield Entry(Kind.LOST, at, {}, f"P{number}")


def fill(ledger: Ledger, pieces: int, events: int) -> None:
    """Enter everything, as the import of an export does."""
    at = datetime(2027, 1, 15, tzinfo=UTC)
    numbered = enumerate(entries(pieces, events), start=1)
    replay(ledger, (Event(n, entry, at, "bench", f"bench #{n}") for n, entry in numbered), "bench")


def seconds(*words: str) -> tuple[float, float]:
    """Return wall and processor time of one whole command."""
    import resource

    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    started = time.perf_counter()
    subprocess.run(
        [str(Path(sys.executable).with_name("ramet")), *words], check=True, stdout=subprocess.DEVNULL
    )
    wall = time.perf_counter() - started
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def told(what: str, target: str, call: Callable[[int], object]) -> None:
    """Print the middle and the 95th percentile of a call [ms], and its processor time at the middle."""
    for n in range(10):
        call(n)
    wall, cpu = [], []
    for n in range(CALLS):
        started, worked = time.perf_counter(), time.process_time()
        call(n)
        wall.append((time.perf_counter() - started) * 1000)
        cpu.append((time.process_time() - worked) * 1000)
    p95 = statistics.quantiles(wall, n=20)[-1]
    cpu95 = statistics.quantiles(cpu, n=20)[-1]
    print(
        f"  {what:<44} p50 {statistics.median(wall):7.2f} ms  p95 {p95:7.2f} ms  "
        f"(processor p95 {cpu95:6.2f} ms)  wanted {target}"
    )


def queries(ledger: Ledger, pieces: int) -> None:
    """Time what the stock page and a piece's page ask."""
    strains = max(1, pieces // 50)
    dice = random.Random(2)
    marks: dict[Sort, list[str | None]] = {sort: [None] for sort in Sort}
    for sort in Sort:
        for _ in range(20):
            mark = stock_page(ledger, StockQuery(sort=sort, after=marks[sort][-1], rows=200)).next
            marks[sort].append(mark)
    sorts = list(Sort)

    def page(n: int) -> object:
        sort = sorts[n % len(sorts)]
        return stock_page(ledger, StockQuery(sort=sort, descending=False, after=dice.choice(marks[sort])))

    def by_field(n: int) -> object:
        fields = (
            {"system": f"sys{n % 8}"},
            {"system": f"sys{n % 8}", "tank": f"tank{n % 40}"},
            {"strain": f"strain {n % strains}"},
            {"taxon": f"{GENERA[n % 5]} sp.", "system": f"sys{n % 8}"},
        )[n % 4]
        return stock_page(ledger, StockQuery(sort=sorts[n // 4 % len(sorts)], **fields))  # type: ignore[arg-type]

    told("a page of the stock, any sort, any depth", "10", page)
    told("a page by system, tank, strain or taxon", "10", by_field)
    rare = ("P9", "strain 17", "row 976", "rack 3 favites", "p12345", "acro strain 3", "tank7 sys7")
    told("a page by words", "25", lambda n: stock_page(ledger, StockQuery(text=rare[n % len(rare)])))
    common = ("strain", "sp", "a", "p", "sys3")
    told(
        "a page by words that most pieces have",
        "25",
        lambda n: stock_page(ledger, StockQuery(text=common[n % len(common)], sort=sorts[n % len(sorts)])),
    )
    told(
        "how many pieces there are in a system",
        "-",
        lambda n: count_stock(ledger, StockQuery(system=f"sys{n % 8}")),
    )
    told("the tanks with their counts", "-", lambda n: stock_facets(ledger, "tank", StockQuery()))
    told("the history of one piece", "1", lambda n: history(ledger, f"P{dice.randrange(pieces)}"))


def commands(folder: Path, rows: int) -> None:
    """Time whole commands over a list of `rows` rows."""
    path, ledger = folder / f"stock{rows}.csv", str(folder / f"{rows}.db")
    path.write_text(stock(rows), encoding="utf-8")
    options = ("--ledger", ledger, "--today", TODAY)
    help_s, _ = seconds("--help")
    print(f"{rows:,} rows")
    for words in (
        ("import", str(path)),
        ("import", str(path)),
        ("verify",),
        ("export", str(folder / f"out{rows}")),
    ):
        took, cpu = seconds(*words, *options)
        print(
            f"  {words[0]:<7} {took:6.2f} s (processor {cpu:6.2f} s)  {rows / took:>9,.0f} rows/s  "
            f"{took / help_s:6.1f} × the time of --help"
        )


def main() -> None:
    """Measure commands over a list, then queries over a full ledger."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, nargs="*", default=[1_000, 50_000])
    parser.add_argument("--pieces", type=int, default=100_000)
    parser.add_argument("--events", type=int, default=1_000_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        for rows in given.rows:
            commands(Path(folder), rows)
        place = str(Path(folder) / "full.db")
        print(f"{given.events:,} events, {given.pieces:,} pieces")
        with open_ledger(place, create=True, clock=lambda: datetime(2027, 1, 15, tzinfo=UTC)) as ledger:
            started = time.perf_counter()
            fill(ledger, given.pieces, given.events)
            print(f"  entered in {time.perf_counter() - started:.1f} s")
            queries(ledger, given.pieces)
        took, cpu = seconds("verify", "--ledger", place)
        print(f"  verify {took:6.2f} s (processor {cpu:6.2f} s)  wanted 30")


if __name__ == "__main__":
    main()

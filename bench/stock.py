"""What is ready on a day, the weeks ahead and the day's list, over a large stock: CPU seconds of each.

Run: python -m bench.stock [--rows 10000 100000]
"""

import argparse
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from bench.ledger import stock
from ramet.ledger.store import open_ledger
from ramet.reference.tables import load_reference
from ramet.services.growing.outlook import outlook
from ramet.services.growing.readiness import readiness
from ramet.services.growing.stock_arrays import stock_arrays
from ramet.services.growing.tank_space import tank_space
from ramet.services.import_stock import import_files
from ramet.services.today import today_in

TODAY, ON = date(2027, 1, 15), date(2027, 4, 1)


def cpu_seconds(work: Callable[[], object]) -> float:
    """Return the least CPU time of three runs."""
    taken = []
    for _ in range(3):
        started = time.process_time()
        work()
        taken.append(time.process_time() - started)
    return min(taken)


def measure(rows: int, folder: Path) -> None:
    """Print one line a question, with its ratio to the bare reading of the columns."""
    reference = load_reference()
    path, place = folder / f"stock{rows}.csv", str(folder / f"{rows}.db")
    path.write_text(stock(rows), encoding="utf-8")
    import_files(place, [path], reference, TODAY)
    with open_ledger(place) as book:

        def read() -> object:
            with book.reading() as connection:
                return stock_arrays(connection)

        base = cpu_seconds(read)
        for name, work in (
            ("columns", read),
            ("ready", lambda: readiness(book, reference, TODAY, ON)),
            ("outlook", lambda: outlook(book, reference, TODAY)),
            ("space", lambda: tank_space(book, reference, TODAY)),
            ("today", lambda: today_in(book, reference, TODAY)),
        ):
            took = cpu_seconds(work)
            print(f"{rows:>7} pieces  {name:<8} {took:6.3f} s CPU  {took / base:5.2f} × reading the columns")


def main() -> None:
    """Measure each size in a folder of its own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, nargs="+", default=[10_000, 100_000])
    for rows in parser.parse_args().rows:
        with tempfile.TemporaryDirectory() as folder:
            measure(rows, Path(folder))


if __name__ == "__main__":
    main()

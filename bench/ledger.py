"""Import, verify, read and export of large stock lists: seconds of whole processes, and rows a second.

Run: python -m bench.ledger [--rows 1000 50000]
"""

import argparse
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

GENERA = ("Acropora", "Montipora", "Favites", "Sinularia", "Zoanthus")
TODAY = "2027-01-15"
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


def seconds(*words: str) -> float:
    """Return the wall time of one whole command."""
    started = time.perf_counter()
    subprocess.run(
        [str(Path(sys.executable).with_name("ramet")), *words], check=True, stdout=subprocess.DEVNULL
    )
    return time.perf_counter() - started


def measure(rows: int, folder: Path) -> None:
    """Print one line a command."""
    path, ledger = folder / f"stock{rows}.csv", str(folder / f"{rows}.db")
    path.write_text(stock(rows), encoding="utf-8")
    options = ("--ledger", ledger, "--today", TODAY)
    help_s = seconds("--help")
    for words in (
        ("import", str(path)),
        ("import", str(path)),
        ("verify",),
        ("export", str(folder / f"out{rows}")),
    ):
        took = seconds(*words, *options)
        print(
            f"{rows:>7} rows  {words[0]:<7} {took:6.2f} s  {rows / took:>9,.0f} rows/s  "
            f"{took / help_s:6.1f} × the time of --help"
        )


def main() -> None:
    """Measure each size in a folder of its own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, nargs="+", default=[1_000, 50_000])
    for rows in parser.parse_args().rows:
        with tempfile.TemporaryDirectory() as folder:
            measure(rows, Path(folder))


if __name__ == "__main__":
    main()

"""How long the demo's plan takes, whole process and stage by stage: `python -m bench.plan`."""

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

RUNS = 3


def main() -> None:
    """Print seconds of `ramet --help`, of `ramet plan --effort quick` on the demo, and of its stages."""
    ramet = str(Path(sys.executable).with_name("ramet"))
    print(f"ramet --help: {_best([ramet, '--help']):.2f} s (best of {RUNS})")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        subprocess.run([ramet, "demo", name], check=True, capture_output=True)
        command = [
            ramet, "plan", str(folder / "shipment.toml"), "-o", str(folder / "out"), "--effort", "quick",
            "--ledger", str(folder / "ramet.db"), "--today", "2027-01-04",
        ]  # fmt: skip
        print(f"ramet plan --effort quick, demo: {_best(command):.2f} s (best of {RUNS})")
        run = json.loads((folder / "out" / "run.json").read_text())
        for stage, seconds in run["seconds"].items():
            print(f"  {seconds:5.2f} s  {stage}")


def _best(command: list[str]) -> float:
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        ended = subprocess.run(command, check=False, capture_output=True, text=True)
        if ended.returncode > 1:
            raise SystemExit(ended.stderr)
        times.append(time.perf_counter() - start)
    return min(times)


if __name__ == "__main__":
    main()

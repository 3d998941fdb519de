"""How long the demo's plan takes, whole process and stage by stage, and a change at the bench of it.

python -m bench.plan
"""

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
        _bench_change(folder)


def _bench_change(folder: Path) -> None:
    """Print seconds of a piece withdrawn at the bench, in a warm process; each piece once."""
    from ramet.reference.tables import load_reference
    from ramet.services.planning.repack import BenchChange
    from ramet.services.replan import ReplanOrder, read_plan_file, replan_shipment

    reference, plan = load_reference(None), read_plan_file(folder / "out" / "plan.json")
    sealed = frozenset(bag.id for bag in plan.bags if bag.sealing_order <= len(plan.bags) // 3)
    ledger, shipment = str(folder / "ramet.db"), folder / "shipment.toml"
    taken: list[tuple[float, float]] = []
    for one in plan.chosen:
        change = BenchChange(sealed, one.piece)
        wall, processor = time.perf_counter(), time.process_time()
        replan_shipment(ReplanOrder(plan, ledger, shipment, plan.shipment.departs.date(), change), reference)
        taken.append((time.perf_counter() - wall, time.process_time() - processor))
    warm = sorted(taken[1:])
    middle, longest = warm[len(warm) // 2], warm[-1]
    print(
        f"a piece withdrawn, {len(warm)} times: {middle[0]:.2f} s in the middle, {longest[0]:.2f} s at most"
    )
    print(f"  on the processor {sorted(cpu for _, cpu in warm)[len(warm) // 2]:.2f} s in the middle")


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

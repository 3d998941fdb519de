"""`python -m bench` runs every benchmark, one after the other, each in a process of its own."""

import subprocess
import sys

SUBJECTS = ("water", "journey", "packing", "packing_classes", "placement", "ledger", "stock", "plan", "web")

for subject in SUBJECTS:
    print(f"== {subject}", flush=True)
    subprocess.run([sys.executable, "-m", f"bench.{subject}"], check=True)

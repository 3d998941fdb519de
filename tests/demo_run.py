"""The demo, run once for the whole suite: as a program, into a folder where somebody keeps a file."""

import fcntl
import os
import subprocess
import sys
from pathlib import Path

import pytest

FOREIGN = "notes of mine.txt"


def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the demo, with what the program printed beside it in `out` and `err`.

    Workers of one test run share it: the first to come runs the demo, the others wait.
    """
    root = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        root = root.parent
    home = root / "main-job"
    with (root / "main-job.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (home / "out").exists():
            _run(home)
    return home


def _run(home: Path) -> None:
    demo = home / "demo"
    demo.mkdir(parents=True)
    (demo / FOREIGN).write_text("not to be touched")
    (demo / "plan.json").write_text("of an older demo")
    ramet = Path(sys.executable).parent / "ramet"
    ran = subprocess.run(
        [str(ramet), "demo", str(demo), "--json"], capture_output=True, text=True, check=False, cwd=home
    )
    (home / "code").write_text(str(ran.returncode))
    (home / "err").write_text(ran.stderr)
    (home / "out").write_text(ran.stdout)

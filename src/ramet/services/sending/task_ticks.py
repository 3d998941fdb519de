"""Which tasks of a plan are done: a tick is a small file beside the plan, so that two people never clash."""

import hashlib
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from ramet.formats.plan import Plan
from ramet.services.beside import write_whole

FOLDER = "ticks"


def read_ticks(folder: Path) -> Mapping[str, datetime]:
    """Return when each ticked task was done, by the id of the task."""
    found: dict[str, datetime] = {}
    for path in sorted((folder / FOLDER).glob("*.txt")):
        task, _, at = path.read_text("utf-8").rstrip("\n").rpartition(" ")
        found[task] = datetime.fromisoformat(at)
    return found


def tick(folder: Path, plan: Plan, task_id: str, done_at: datetime | None) -> bool:
    """Tick a task, or with None take the tick back; return whether the plan has such a task."""
    if task_id not in {task.id for task in plan.tasks}:
        return False
    path = folder / FOLDER / f"{hashlib.sha256(task_id.encode()).hexdigest()[:24]}.txt"
    if done_at is None:
        path.unlink(missing_ok=True)
    elif not path.exists():
        write_whole(path, f"{task_id} {done_at.isoformat()}\n".encode())
    return True

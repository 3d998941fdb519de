"""Plan a shipment from a ledger and a file, and write all its papers, unless something is wrong."""

import hashlib
import json
import os
import platform
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ramet.domain.errors import BrokenEnvironment
from ramet.domain.words import Effort
from ramet.formats.plan_text import plan_text
from ramet.papers.calendar_file import tasks_ics
from ramet.reference.tables import Reference
from ramet.services.planning.gather import gather, read_shipment
from ramet.services.planning.listening import Listener, SearchProgress
from ramet.services.planning.plan import make_plan
from ramet.services.printing import Printer
from ramet.services.sound import SoundPlan, sound
from ramet.services.stock import read_stock

if TYPE_CHECKING:
    from ramet.formats.transit_result import WhatIfRow
    from ramet.formats.usual import Usual


@dataclass(frozen=True, slots=True)
class PlanOrder:
    """What to plan, from what, and how hard to look."""

    ledger: str
    shipment: Path
    today: date
    seed: int
    effort: Effort
    what_if: bool = False
    usual: Path | None = None


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan that passed the checker, with the seconds that each stage took, and what-ifs if asked for."""

    plan: SoundPlan
    stage_s: Mapping[str, float]
    what_ifs: "tuple[WhatIfRow, ...]" = ()


def plan_shipment(
    order: PlanOrder,
    reference: Reference,
    on_stage: Callable[[str], None],
    on_progress: Callable[[SearchProgress], None] = lambda _: None,
    should_stop: Callable[[], bool] = lambda: False,
) -> Planned:
    """Return the plan for a shipment. Raises BadInput with all problems of the file, or PlanDoesNotHold.

    `on_progress` hears the best value so far with its bound while the search runs. `should_stop` is asked
    about ten times a second, in the calling thread; once it says yes, the best plan so far is finished,
    checked and returned, with `optimum.stopped_early` set.
    """
    watch = _StageWatch(on_stage)
    listener = Listener(watch.enter, on_progress, should_stop)
    watch.enter("reading stock and shipment")
    shipment, sha256 = read_shipment(order.shipment, order.today, reference)
    usual = None if order.usual is None else _habit(reference, order.usual)
    stock = read_stock(order.ledger, reference, order.today)
    inputs = gather(shipment, sha256, stock, reference, order.today, order.seed, order.effort)
    made = make_plan(inputs, listener)
    if usual is not None and not listener.stopped:
        from ramet.services.planning.usual_plan import beside_usual

        watch.enter("holding the usual way against the plan")
        made = made.model_copy(update={"usual": beside_usual(reference, made, *usual)})
    watch.enter("checking the plan")
    plan = sound(made, reference)
    rows: tuple[WhatIfRow, ...] = ()
    if order.what_if and not listener.stopped:
        from ramet.services.planning.what_ifs import plan_what_ifs

        watch.enter("asking what would change the margins")
        rows = plan_what_ifs(reference, plan)
    watch.enter("done")
    return Planned(plan, watch.seconds, rows)


def _habit(reference: Reference, path: Path) -> "tuple[Usual, str]":
    """Read a usual way of packing, and hash its file."""
    from ramet.services.trials.usual_way import read_usual

    return read_usual(reference, path), hashlib.sha256(path.read_bytes()).hexdigest()


def write_packet(planned: Planned, folder: Path, printer: Printer) -> tuple[Path, ...]:
    """Write plan, packet, receiver's page, calendar and run.json into `folder`, each whole or not at all.

    Raises BrokenEnvironment where the folder cannot be written.
    """
    files = {
        "plan.json": plan_text(planned.plan).encode(),
        **printer.papers(planned.plan),
        "tasks.ics": tasks_ics(planned.plan),
        "run.json": _run_json(planned),
    }
    if planned.what_ifs:
        files["what-ifs.json"] = _rows_json(planned.what_ifs)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return tuple(_write_whole(folder / name, data) for name, data in files.items())
    except OSError as error:
        raise BrokenEnvironment(_cannot_write(folder, error.strerror or str(error))) from error


def ask_for_folder(folder: Path) -> None:
    """Raise BrokenEnvironment where a folder can't be made or written, before work is done for it.

    Nothing is made yet.
    """
    there = next(path for path in (folder, *folder.absolute().parents) if path.exists())
    if not there.is_dir():
        raise BrokenEnvironment(_cannot_write(folder, f"{there} is not a folder"))
    if not os.access(there, os.W_OK | os.X_OK):
        raise BrokenEnvironment(_cannot_write(folder, f"{there} may not be written by you"))


def _cannot_write(folder: Path, reason: str) -> str:
    return f"{folder}: the packet cannot be written there ({reason}); name another folder with -o"


def _rows_json(rows: "Sequence[WhatIfRow]") -> bytes:
    return (json.dumps([row.model_dump() for row in rows], indent=1, ensure_ascii=False) + "\n").encode()


def _write_whole(path: Path, data: bytes) -> Path:
    part = path.with_name(f".{path.name}.part")
    part.write_bytes(data)
    os.replace(part, path)
    return path


def _run_json(planned: Planned) -> bytes:
    run = {
        "seconds": {stage: round(seconds, 3) for stage, seconds in planned.stage_s.items()},
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} processors",
        "goals": [goal.model_dump() for goal in planned.plan.optimum.goals],
    }
    return (json.dumps(run, indent=1) + "\n").encode()


class _StageWatch:
    """Tells the stages to a listener and keeps how long each took."""

    def __init__(self, on_stage: Callable[[str], None]) -> None:
        self.seconds: dict[str, float] = {}
        self._on_stage = on_stage
        self._stage: str | None = None
        self._since = time.perf_counter()

    def enter(self, stage: str) -> None:
        """End the running stage and begin the next."""
        now = time.perf_counter()
        if self._stage is not None:
            self.seconds[self._stage] = self.seconds.get(self._stage, 0.0) + now - self._since
        self._stage, self._since = stage, now
        if stage != "done":
            self._on_stage(stage)

"""The child process of a job: takes it as one line of JSON, tells progress a line each, ends with its answer.

It ends by itself when its input closes, which means that the server is gone.
"""

import json
import os
import sys
import threading
from typing import TYPE_CHECKING, Any

from ramet.domain.errors import RametError
from ramet.domain.jobs import JobState
from ramet.jobs.plan_job import plan_job

if TYPE_CHECKING:
    from ramet.services.planning.listening import SearchProgress

SERVER_GONE = 70
"""Exit code of a child whose server went away."""


def main() -> None:
    """Do the one job."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    asked: dict[str, Any] = json.loads(sys.stdin.readline())
    stop = threading.Event()
    threading.Thread(target=_listen, args=(stop,), daemon=True).start()
    try:
        state, answer = _plan(asked["ledger"], asked["what"], stop)
    except RametError as error:
        state, answer = JobState.FAILED, str(error)
    _say({"state": state.value, "answer": answer})


def _plan(ledger: str, what: dict[str, object], stop: threading.Event) -> tuple[JobState, str]:
    from ramet.reference.tables import load_reference
    from ramet.services.plan_shipment import PlanOrder, plan_shipment, write_packet
    from ramet.services.printing import Printer

    job = plan_job(what)
    order = PlanOrder(ledger, job.shipment, job.today, job.seed, job.effort)
    with Printer() as printer:
        reference = load_reference(job.own_rows)
        planned = plan_shipment(order, reference, _say_stage, _say_search, stop.is_set)
        _say_stage("printing the papers")
        write_packet(planned, job.folder, printer)
    if stop.is_set():
        return JobState.STOPPED, f"Planning was stopped; this is the best plan it had. {planned.plan.verdict}"
    return JobState.DONE, planned.plan.verdict


def _say_stage(stage: str) -> None:
    _say({"stage": stage})


def _say_search(progress: "SearchProgress") -> None:
    _say({"goal": progress.goal, "value": progress.value, "bound": progress.bound})


def _listen(stop: threading.Event) -> None:
    for line in sys.stdin:
        if line.strip() == "stop":
            stop.set()
    os._exit(SERVER_GONE)


def _say(message: dict[str, object]) -> None:
    print(json.dumps(message), flush=True)


if __name__ == "__main__":
    main()

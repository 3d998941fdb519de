"""The runners of background work, one a ledger; they start with the server, so that open jobs go on."""

import secrets
import threading
from datetime import UTC, datetime

from ramet.domain.jobs import Job
from ramet.domain.words import Effort
from ramet.jobs.plan_job import KIND, PlanJob
from ramet.jobs.runner import Runner
from ramet.ledger import jobs
from ramet.ledger.store import exists
from ramet.services.shelf import SHIPMENT, ShelfPlace, keep_plan_before
from ramet.web.desk import Desk, Office


class Planners:
    """Asks for plans, tells how far they are, and stops them."""

    def __init__(self, office: Office) -> None:
        self._office = office
        self._runners: dict[str, Runner] = {}
        self._lock = threading.Lock()

    def start(self) -> None:
        """Take up what was left open when the server last stopped."""
        ledger = self._office.desk().ledger
        if exists(ledger):
            self._runner(ledger).ring()

    def close(self) -> None:
        """Stop all runners; what they were at goes back into the queue."""
        with self._lock:
            runners, self._runners = list(self._runners.values()), {}
        for runner in runners:
            runner.close()

    def let_go(self, ledger: str) -> None:
        """Stop the runner of a ledger that is about to be removed."""
        with self._lock:
            runner = self._runners.pop(ledger, None)
        if runner is not None:
            runner.close()

    def ask(self, desk: Desk, place: ShelfPlace, effort: Effort) -> None:
        """Put a plan in the queue; one that is open for this shipment goes on instead."""
        keep_plan_before(place)
        own_rows = self._office.own_rows
        order = PlanJob(
            place.folder / SHIPMENT,
            place.folder,
            desk.today,
            desk.seed,
            effort,
            own_rows if own_rows.exists() else None,
        )
        now = datetime.now(UTC)
        jobs.ask(desk.book, KIND, place.key, order.what(), job_id=secrets.token_hex(8), now=now)
        self._runner(desk.ledger).ring()

    def latest(self, desk: Desk, key: str) -> Job | None:
        """Return the job that was last asked for a shipment."""
        if not desk.has_ledger:
            return None
        job = jobs.latest(desk.book, KIND, key)
        if job is not None and job.is_open:
            self._runner(desk.ledger).ring()
        return job

    def stop(self, desk: Desk, key: str) -> None:
        """Ask an open job of a shipment to stop with the best plan it has."""
        job = self.latest(desk, key)
        if job is not None and job.is_open:
            jobs.ask_stop(desk.book, job.id, datetime.now(UTC))

    def _runner(self, ledger: str) -> Runner:
        with self._lock:
            runner = self._runners.get(ledger)
            if runner is None:
                runner = self._runners[ledger] = Runner(ledger)
            return runner

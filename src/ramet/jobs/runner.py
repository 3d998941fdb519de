"""The runner of one server: takes jobs from the queue one at a time and does each in a child process.

The child does the work, so a job can be stopped, and a server can be closed, at any moment.
"""

import json
import os
import queue
import secrets
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.domain.jobs import Job, JobState, Progress
from ramet.ledger import jobs
from ramet.ledger.store import Ledger, open_ledger

Clock = Callable[[], datetime]
BEAT_S = 0.5
"""How often progress and the sign of life are written."""
SILENT = timedelta(seconds=60)
"""A server that was silent for so long is dead."""
GRACE_S = 90.0
"""So long a stopped job may take to bring its best plan into order."""
STOPPED_EARLY = "Planning was stopped before there was a plan; an earlier plan is kept."

_LIVE: set[str] = set()
"""The runners of this process that are at work."""


class Runner:
    """Runs the jobs of one ledger. Its thread ends when the queue is empty and begins again when rung."""

    def __init__(self, place: str, *, clock: Clock = lambda: datetime.now(UTC)) -> None:
        self._place = place
        self._clock = clock
        self._owner = f"{socket.gethostname()}:{os.getpid()}:{secrets.token_hex(4)}"
        self._closing = threading.Event()
        self._lock = threading.Lock()
        self._rung = False
        self._thread: threading.Thread | None = None

    def ring(self) -> None:
        """Say that there may be something in the queue."""
        with self._lock:
            self._rung = True
            if self._thread is None and not self._closing.is_set():
                self._thread = threading.Thread(target=self._work, name="ramet jobs", daemon=True)
                self._thread.start()

    def close(self) -> None:
        """End now. A running job goes back into the queue."""
        self._closing.set()
        thread = self._thread
        if thread is not None:
            thread.join()

    def _work(self) -> None:
        while True:
            with self._lock:
                if self._closing.is_set() or not self._rung:
                    self._thread = None
                    return
                self._rung = False
            # A ledger that is away, locked or full waits for the next ring; its jobs stay in the queue.
            _LIVE.add(self._owner)
            with suppress(BrokenEnvironment, BadInput), open_ledger(self._place) as ledger:
                self._take_jobs(ledger)
            _LIVE.discard(self._owner)

    def _take_jobs(self, ledger: Ledger) -> None:
        jobs.queue_again(ledger, self._is_alive, self._clock())
        while not self._closing.is_set():
            job = jobs.claim(ledger, self._owner, self._clock())
            if job is None:
                return
            self._do(ledger, job)

    def _is_alive(self, owner: str, beat_at: datetime) -> bool:
        if owner in _LIVE:
            return True
        host, pid = [*owner.split(":"), ""][:2]
        if host == socket.gethostname() and (pid == str(os.getpid()) or not _is_process(pid)):
            return False
        return self._clock() - beat_at < SILENT

    def _do(self, ledger: Ledger, job: Job) -> None:
        child = _Child(self._place, job)
        try:
            state, answer = self._watch(ledger, job, child)
        finally:
            child.end()
        if state is None:
            jobs.give_back(ledger, job)
        else:
            jobs.end(ledger, job, state, answer, self._clock())

    def _watch(self, ledger: Ledger, job: Job, child: "_Child") -> tuple[JobState | None, str]:
        """Follow a child to its end. Returns no state when the server closes meanwhile."""
        progress, stopped_at = Progress(), None
        while not self._closing.is_set():
            for message in child.heard(BEAT_S):
                if "state" in message:
                    return JobState(str(message["state"])), str(message["answer"])
                progress = _further(progress, message)
            goes_on = jobs.tell(ledger, job, progress, self._clock())
            if not goes_on and stopped_at is None:
                stopped_at = time.monotonic()
                child.ask_to_stop()
            if stopped_at is not None and time.monotonic() - stopped_at > GRACE_S:
                return (
                    JobState.STOPPED,
                    "Planning was stopped before there was a plan; an earlier plan is kept.",
                )
            if child.ended():
                return JobState.FAILED, f"the work broke off: {child.last_words()}"
        return None, ""


class _Child:
    """The process that does a job, and a thread that hears what it says."""

    def __init__(self, place: str, job: Job) -> None:
        pipe = subprocess.PIPE
        self._process = subprocess.Popen(
            [sys.executable, "-m", "ramet.jobs"], stdin=pipe, stdout=pipe, stderr=pipe, text=True
        )
        self._said: queue.Queue[dict[str, object]] = queue.Queue()
        self._errors: list[str] = []
        self._threads = [
            threading.Thread(target=self._hear, daemon=True),
            threading.Thread(target=self._hear_errors, daemon=True),
        ]
        for thread in self._threads:
            thread.start()
        self._tell(json.dumps({"ledger": place, "what": dict(job.what)}))

    def heard(self, within_s: float) -> list[dict[str, object]]:
        """Return what was said within some seconds."""
        until, found = time.monotonic() + within_s, []
        while (left := until - time.monotonic()) > 0:
            with suppress(queue.Empty):
                found.append(self._said.get(timeout=left))
                if "state" in found[-1]:
                    break
            if self.ended() and self._said.empty():
                break
        return found

    def ask_to_stop(self) -> None:
        """Ask for the best that there is."""
        self._tell("stop")

    def ended(self) -> bool:
        """Tell whether the process is over and all it said was heard."""
        return self._process.poll() is not None and not self._threads[0].is_alive() and self._said.empty()

    def last_words(self) -> str:
        """Return the last line that it wrote about its own trouble."""
        self._threads[1].join(1)
        return self._errors[-1] if self._errors else f"exit code {self._process.returncode}"

    def end(self) -> None:
        """Make sure that it is over."""
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait()
        for thread in self._threads:
            thread.join(5)
        for stream in (self._process.stdin, self._process.stdout, self._process.stderr):
            if stream is not None:
                with suppress(OSError):
                    stream.close()

    def _tell(self, line: str) -> None:
        if self._process.stdin is not None:
            with suppress(OSError):
                self._process.stdin.write(line + "\n")
                self._process.stdin.flush()

    def _hear(self) -> None:
        for line in self._process.stdout or ():
            self._said.put(json.loads(line))

    def _hear_errors(self) -> None:
        for line in self._process.stderr or ():
            if line.strip():
                self._errors.append(line.strip())


def _further(progress: Progress, message: Mapping[str, Any]) -> Progress:
    """A new stage begins with nothing known of its goal."""
    before = Progress() if "stage" in message else progress
    return replace(before, **message)


def _is_process(pid: str) -> bool:
    try:
        os.kill(int(pid), 0)
    except (ProcessLookupError, ValueError):
        return False
    except PermissionError:
        return True
    return True

"""Work that runs in the background: what was asked, how far it is, and what came of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class JobState(StrEnum):
    """Where a job stands. `stopped` is at a person's word, `failed` is a fault or bad input."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"


OPEN = frozenset({JobState.QUEUED, JobState.RUNNING})


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a job is. `value` and `bound` are those of the goal that is worked on; None: not known yet."""

    stage: str = ""
    goal: str = ""
    value: float | None = None
    bound: float | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of background work. `owner` is the server that runs it, `beat_at` its last sign of life.

    `subject` is what it is about: at most one open job of a kind has the same subject.
    """

    id: str
    kind: str
    subject: str
    what: Mapping[str, object]
    state: JobState
    progress: Progress
    answer: str
    stop_asked: bool
    attempts: int
    owner: str | None
    asked_at: datetime
    started_at: datetime | None
    beat_at: datetime | None
    ended_at: datetime | None

    @property
    def is_open(self) -> bool:
        """Tell whether it still waits or runs."""
        return self.state in OPEN

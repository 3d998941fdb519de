"""The queue of background work: rows that say who runs what, and when they were last heard of."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update

from ramet.domain.jobs import OPEN, Job, JobState, Progress
from ramet.ledger.store import Ledger
from ramet.ledger.tables import jobs

MOST_ATTEMPTS = 3
"""A job whose server went down so many times is not tried again: it may be what brings them down."""
_OPEN = [state.value for state in OPEN]


def ask(
    ledger: Ledger, kind: str, subject: str, what: Mapping[str, object], *, job_id: str, now: datetime
) -> Job:
    """Put a job in the queue and return it; one that is open for the same subject is returned instead."""
    with ledger.writing() as connection:
        of_subject = (jobs.c.kind == kind) & (jobs.c.subject == subject)
        query = select(jobs).where(of_subject, jobs.c.state.in_(_OPEN)).order_by(jobs.c.asked_at)
        open_one = connection.execute(query).first()
        if open_one is not None:
            return _job(open_one)
        row: dict[str, Any] = {"id": job_id, "kind": kind, "subject": subject, "what": dict(what)}
        row |= {"state": JobState.QUEUED.value, "progress": asdict(Progress()), "answer": ""}
        connection.execute(insert(jobs), row | {"stop_asked": False, "attempts": 0, "asked_at": now})
        return _one(connection, job_id)


def find(ledger: Ledger, job_id: str) -> Job | None:
    """Return a job by its id."""
    with ledger.reading() as connection:
        row = connection.execute(select(jobs).where(jobs.c.id == job_id)).first()
        return None if row is None else _job(row)


def latest(ledger: Ledger, kind: str, subject: str) -> Job | None:
    """Return the job of a subject that was asked for last."""
    query = select(jobs).where(jobs.c.kind == kind, jobs.c.subject == subject)
    with ledger.reading() as connection:
        row = connection.execute(query.order_by(jobs.c.asked_at.desc(), jobs.c.id).limit(1)).first()
        return None if row is None else _job(row)


def latest_done(ledger: Ledger, kind: str) -> tuple[Job, ...]:
    """Return for each subject the job that came to an end last; one that was stopped has its best, too."""
    ended = (JobState.DONE.value, JobState.STOPPED.value)
    query = select(jobs).where(jobs.c.kind == kind, jobs.c.state.in_(ended))
    with ledger.reading() as connection:
        rows = connection.execute(query.order_by(jobs.c.ended_at, jobs.c.id)).all()
    return tuple({row.subject: _job(row) for row in rows}.values())


def claim(ledger: Ledger, owner: str, now: datetime) -> Job | None:
    """Take the job that has waited longest, or None when nothing waits."""
    waiting = select(jobs.c.id).where(jobs.c.state == JobState.QUEUED.value)
    with ledger.reading() as connection:
        if connection.execute(waiting.limit(1)).first() is None:
            return None
    with ledger.writing() as connection:
        found = connection.execute(waiting.order_by(jobs.c.asked_at, jobs.c.id).limit(1)).scalar()
        if found is None:
            return None
        taken = connection.execute(
            update(jobs)
            .where(jobs.c.id == found, jobs.c.state == JobState.QUEUED.value)
            .values(
                state=JobState.RUNNING.value,
                owner=owner,
                started_at=now,
                beat_at=now,
                attempts=jobs.c.attempts + 1,
                progress=asdict(Progress()),
            )
        )
        return _one(connection, found) if taken.rowcount == 1 else None


def tell(ledger: Ledger, job: Job, progress: Progress, now: datetime) -> bool:
    """Note progress and a sign of life; return whether the job goes on, which it does not once a stop is
    asked for or another server has taken it."""
    with ledger.writing() as connection:
        connection.execute(_mine(job).values(progress=asdict(progress), beat_at=now))
        found = _one(connection, job.id)
        return found.owner == job.owner and found.state is JobState.RUNNING and not found.stop_asked


def end(ledger: Ledger, job: Job, state: JobState, answer: str, now: datetime) -> None:
    """Note how a job ended, unless another server has taken it meanwhile."""
    with ledger.writing() as connection:
        connection.execute(_mine(job).values(state=state.value, answer=answer, ended_at=now))


def ask_stop(ledger: Ledger, job_id: str, now: datetime) -> None:
    """Ask a job to stop: one that waits is stopped at once, one that runs is told by its server."""
    with ledger.writing() as connection:
        mine = update(jobs).where(jobs.c.id == job_id)
        waits = mine.where(jobs.c.state == JobState.QUEUED.value)
        connection.execute(
            waits.values(
                state=JobState.STOPPED.value, ended_at=now, answer="Planning was stopped before it began."
            )
        )
        connection.execute(mine.where(jobs.c.state == JobState.RUNNING.value).values(stop_asked=True))


def queue_again(ledger: Ledger, is_alive: Callable[[str, datetime], bool], now: datetime) -> int:
    """Put jobs of servers that are no more back into the queue, and return how many.

    `is_alive` is asked with the owner of a running job and its last sign of life.
    """
    running = select(jobs).where(jobs.c.state == JobState.RUNNING.value)
    with ledger.reading() as connection:
        found = [_job(row) for row in connection.execute(running)]
    dead = [job for job in found if not is_alive(job.owner or "", job.beat_at or job.asked_at)]
    if not dead:
        return 0
    with ledger.writing() as connection:
        for job in dead:
            connection.execute(_mine(job).values(**_after_a_death(job, now)))
    return len(dead)


def give_back(ledger: Ledger, job: Job) -> None:
    """Put a job back into the queue because its server closes; the attempt does not count."""
    with ledger.writing() as connection:
        connection.execute(_mine(job).values(state=JobState.QUEUED.value, attempts=job.attempts - 1))


def _after_a_death(job: Job, now: datetime) -> dict[str, Any]:
    if job.stop_asked:
        stopped = "Stopped: the server went down before there was a plan."
        return {"state": JobState.STOPPED.value, "ended_at": now, "answer": stopped}
    if job.attempts >= MOST_ATTEMPTS:
        failed = f"The server went down {job.attempts} times during this work; it is not tried again."
        return {"state": JobState.FAILED.value, "ended_at": now, "answer": failed}
    return {"state": JobState.QUEUED.value}


def _mine(job: Job) -> Any:
    """An update of a job that only its present owner can make."""
    return update(jobs).where(
        jobs.c.id == job.id, jobs.c.owner == job.owner, jobs.c.state == JobState.RUNNING.value
    )


def _one(connection: Connection, job_id: str) -> Job:
    return _job(connection.execute(select(jobs).where(jobs.c.id == job_id)).one())


def _job(row: Row[Any]) -> Job:
    values = dict(row._mapping)
    values["state"] = JobState(values["state"])
    values["progress"] = Progress(**values["progress"])
    return Job(**values)

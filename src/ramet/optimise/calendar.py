"""When each job is done: as late as it may be, with the bench loaded evenly. Whole minutes from an origin.

A job that takes hands starts, and leaves the hands free again, inside one working window; one pair of hands
does one job at a time. Goals in order: least work on unwelcome days, the lightest heaviest day (in steps
of `EVEN_TO_MIN`), the latest days. A fixed job (`earliest == latest`) stands where it is, windows or not;
its day may carry what it carries by itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import TopologicalSorter

from ramet.optimise.calendar_problem import Job, Window, held_by_fixed, peak_min
from ramet.optimise.problem import Budget


@dataclass(frozen=True, slots=True)
class Late:
    """A job that cannot start in time by `by_min`, and the chain of jobs that pushes it, first one first."""

    job: str
    by_min: int
    chain: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Schedule:
    """A start for every job. When not feasible, starts are the earliest ones and `late` says what is late.

    `late` empty and not feasible means that one pair of hands is not enough. `peak_min` is the heaviest
    day that has movable work; `proven` tells that no calendar is better by the goals.
    """

    starts: Mapping[str, int]
    latest_starts: Mapping[str, int]
    feasible: bool
    late: tuple[Late, ...]
    peak_min: int
    proven: bool


def schedule(
    jobs: Sequence[Job], windows: Sequence[Window], budget: Budget, light_day_min: int = 0
) -> Schedule:
    """Return the best calendar by the goals of this module.

    Days of up to `light_day_min` are not made lighter still. `latest_starts` come from the critical path
    backwards: later than that, something after it is late, however many hands help.
    """
    ordered = in_order(jobs)
    soonest = earliest_starts(ordered, windows)
    last = latest_starts(ordered, windows)
    late = _late(ordered, soonest, last)
    if late:
        return Schedule(soonest, last, feasible=False, late=late, peak_min=0, proven=True)
    from ramet.optimise.calendar_model import best_days  # loads the solver

    found = best_days(ordered, windows, soonest, last, budget, light_day_min)
    if found is None:
        return Schedule(soonest, last, feasible=False, late=(), peak_min=0, proven=False)
    starts = _to_the_front(jobs, windows, found.window_of, found.starts, last)
    peak = peak_min(ordered, windows, starts)
    return Schedule(starts, last, feasible=True, late=(), peak_min=peak, proven=found.proven)


def earliest_starts(jobs: Sequence[Job], windows: Sequence[Window]) -> dict[str, int]:
    """Return the first start of each job by its predecessors and windows, as if hands were free.

    A job after the last window starts when its predecessors allow: the calendar's end is no reason to stop.
    """
    lasts = {job.id: job.lasts_min for job in jobs}
    starts: dict[str, int] = {}
    for job in in_order(jobs):
        bound = max([job.earliest, *(starts[one] + lasts[one] + gap for one, gap in job.after)])
        starts[job.id] = bound if job.fixed or not job.bench_min else _up(bound, job.bench_min, windows)
    return starts


def latest_starts(jobs: Sequence[Job], windows: Sequence[Window]) -> dict[str, int]:
    """Return the last start of each job by its successors and windows, as if hands were free.

    A job with no window left before its bound gets a start before every window.
    """
    lasts = {job.id: job.lasts_min for job in jobs}
    starts = {job.id: job.latest for job in jobs}
    for job in reversed(in_order(jobs)):
        if not job.fixed and job.bench_min:
            starts[job.id] = _down(starts[job.id], job.bench_min, windows)
        for before, gap in job.after:
            starts[before] = min(starts[before], starts[job.id] - gap - lasts[before])
    return starts


def in_order(jobs: Sequence[Job]) -> list[Job]:
    """Return the jobs with every job behind those it comes after."""
    by_id = {job.id: job for job in jobs}
    if len(by_id) != len(jobs):
        raise ValueError("two jobs share an id")
    graph = {job.id: [before for before, _ in job.after] for job in jobs}
    return [by_id[one] for one in TopologicalSorter(graph).static_order()]


def _up(bound: int, bench_min: int, windows: Sequence[Window]) -> int:
    for window in windows:
        start = max(bound, window.opens)
        if start + bench_min <= window.closes:
            return start
    return max([bound, *(window.closes for window in windows)])


def _down(bound: int, bench_min: int, windows: Sequence[Window]) -> int:
    for window in reversed(windows):
        start = min(bound, window.closes - bench_min)
        if start >= window.opens:
            return start
    return min([bound, *(window.opens - 1 for window in windows)])


def _late(jobs: Sequence[Job], soonest: Mapping[str, int], last: Mapping[str, int]) -> tuple[Late, ...]:
    by_id = {job.id: job for job in jobs}
    passed_on = {before for job in jobs for before, _ in job.after if soonest[job.id] > last[job.id]}
    return tuple(
        Late(job.id, soonest[job.id] - last[job.id], _chain(job, by_id, soonest))
        for job in jobs
        if soonest[job.id] > last[job.id] and job.id not in passed_on
    )


def _chain(job: Job, by_id: Mapping[str, Job], soonest: Mapping[str, int]) -> tuple[str, ...]:
    chain = [job.id]
    while job.after:
        end, before = max((soonest[one] + by_id[one].lasts_min + gap, one) for one, gap in job.after)
        if end <= job.earliest:
            break
        job = by_id[before]
        chain.insert(0, before)
    return tuple(chain)


def _to_the_front(
    jobs: Sequence[Job],
    windows: Sequence[Window],
    window_of: Mapping[str, int],
    found: Mapping[str, int],
    last: Mapping[str, int],
) -> dict[str, int]:
    """Move the jobs to the front of their days: in the order they are listed where that works out.

    The order of the solver always works out, since moving to the front keeps each rule.
    """
    as_listed = _packed(in_order(jobs), windows, window_of)
    if all(
        as_listed[job.id] <= last[job.id]
        and (
            job.id not in window_of or as_listed[job.id] + job.bench_min <= windows[window_of[job.id]].closes
        )
        for job in jobs
    ):
        return as_listed
    return _packed(sorted(in_order(jobs), key=lambda job: found[job.id]), windows, window_of)


def _packed(jobs: Sequence[Job], windows: Sequence[Window], window_of: Mapping[str, int]) -> dict[str, int]:
    lasts = {job.id: job.lasts_min for job in jobs}
    held = held_by_fixed(jobs)
    free = [window.opens for window in windows]
    starts: dict[str, int] = {}
    for job in jobs:
        start = max([job.earliest, *(starts[one] + lasts[one] + gap for one, gap in job.after)])
        if job.id in window_of:
            start = max(start, free[window_of[job.id]])
            for low, high in held:
                if start < high and start + job.bench_min > low:
                    start = high
            free[window_of[job.id]] = start + job.bench_min
        starts[job.id] = start
    return starts

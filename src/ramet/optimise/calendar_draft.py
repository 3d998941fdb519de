"""A quick calendar: jobs from the last to the first, each as late as it fits. It starts the solver off."""

from collections.abc import Mapping, Sequence

from ramet.optimise.calendar_problem import EVEN_TO_MIN, Job, Window, fixed_load_min, held_by_fixed


def backward_draft(
    jobs: Sequence[Job], windows: Sequence[Window], soonest: Mapping[str, int], lightest_min: int
) -> dict[str, int] | None:
    """Return starts that keep all rules, or None when this way of placing finds none.

    The heaviest day grows in steps until all jobs find a place. Good, not proven.
    """
    most = lightest_min + sum(job.bench_min for job in jobs)
    for peak in range(lightest_min, most + EVEN_TO_MIN, EVEN_TO_MIN):
        starts = _place_backwards(jobs, windows, soonest, peak)
        if starts is not None:
            return starts
    return None


def _place_backwards(
    jobs: Sequence[Job], windows: Sequence[Window], soonest: Mapping[str, int], peak: int
) -> dict[str, int] | None:
    lasts = {job.id: job.lasts_min for job in jobs}
    held = held_by_fixed(jobs)
    room = [max(0, peak - fixed_load_min(jobs, window)) for window in windows]
    bound = {job.id: job.latest for job in jobs}
    starts: dict[str, int] = {}
    waiting = list(jobs)
    while waiting:
        needed = {before for job in waiting for before, _ in job.after}
        job = max((one for one in waiting if one.id not in needed), key=lambda one: (bound[one.id], one.id))
        waiting.remove(job)
        start = bound[job.id]
        if not job.fixed and job.bench_min:
            found = _latest_free(job, (soonest[job.id], start), windows, room, held)
            if found is None:
                return None
            start = found
        if start < soonest[job.id]:
            return None
        starts[job.id] = start
        for before, gap in job.after:
            bound[before] = min(bound[before], start - gap - lasts[before])
    return starts


def _latest_free(
    job: Job,
    bounds: tuple[int, int],
    windows: Sequence[Window],
    room: list[int],
    held: list[tuple[int, int]],
) -> int | None:
    """Take the latest free stretch, on a welcome day before any other, and note that it is taken."""
    latest_first = sorted(range(len(windows)), key=lambda i: (windows[i].welcome, i), reverse=True)
    for index in latest_first:
        if room[index] < job.bench_min:
            continue
        start = min(bounds[1], windows[index].closes - job.bench_min)
        for low, high in sorted(held, reverse=True):
            if start < high and start + job.bench_min > low:
                start = low - job.bench_min
        if start >= max(bounds[0], windows[index].opens):
            room[index] -= job.bench_min
            held.append((start, start + job.bench_min))
            return start
    return None

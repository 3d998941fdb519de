"""When each job is done: as late as it may be, with the bench loaded evenly. Whole minutes from an origin.

A job that takes hands starts and leaves the hands free again inside one working window; one pair of hands
does one job at a time. Goals in order: the smallest heaviest day (in steps of `EVEN_TO_MIN`), then the
latest days. A fixed job (`earliest == latest`) stands where it is, windows or not; its day may carry what
it carries by itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import TopologicalSorter
from typing import Any

from ramet.optimise.problem import Budget

EVEN_TO_MIN = 15
"""Days whose loads differ by less than this count as equally loaded."""


@dataclass(frozen=True, slots=True)
class Window:
    """Working time of one day, half open. `day` numbers days, so that differences are days."""

    day: int
    opens: int
    closes: int


@dataclass(frozen=True, slots=True)
class Job:
    """One job. It may start from `earliest` to `latest`; hands are needed for its first `bench_min`.

    `after` names jobs that end at least so many minutes before this one starts.
    """

    id: str
    lasts_min: int
    bench_min: int
    earliest: int
    latest: int
    after: tuple[tuple[str, int], ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.bench_min <= self.lasts_min:
            raise ValueError(f"job {self.id}: bench_min must be 0 to lasts_min ({self.lasts_min})")

    @property
    def fixed(self) -> bool:
        """Whether it stands where it is."""
        return self.earliest == self.latest


@dataclass(frozen=True, slots=True)
class Late:
    """A job that cannot start in time by `by_min`, and the chain of jobs that pushes it, first one first."""

    job: str
    by_min: int
    chain: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Schedule:
    """A start for every job. When not feasible, starts are the earliest ones and `late` says what is late.

    `late` empty and not feasible means that the windows are too short for the hands. `peak_min` is the
    heaviest day that movable jobs make; `proven` tells that no calendar is better by the goals.
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
    """Return the calendar with the smallest heaviest day, and of those the latest.

    Days of up to `light_day_min` are not made lighter still. `latest_starts` come from the critical path
    backwards: later than that, something after it is late, however many hands help.
    """
    ordered = _in_order(jobs)
    soonest = earliest_starts(ordered, windows)
    last = latest_starts(ordered, windows)
    late = _late(ordered, soonest, last)
    if late:
        return Schedule(soonest, last, feasible=False, late=late, peak_min=0, proven=True)
    lightest = max([light_day_min, *(job.bench_min for job in ordered if not job.fixed)])
    draft = backward_draft(ordered, windows, soonest, lightest)
    solved = _Model(ordered, windows, soonest, last, lightest).solve(budget, draft)
    if solved is None:
        return Schedule(soonest, last, feasible=False, late=(), peak_min=0, proven=False)
    days, order, proven = solved
    starts = _left_in_day(ordered, windows, days, order)
    peak = _peak(ordered, windows, starts)
    return Schedule(starts, last, feasible=True, late=(), peak_min=peak, proven=proven)


def earliest_starts(jobs: Sequence[Job], windows: Sequence[Window]) -> dict[str, int]:
    """Return the first start of each job by its predecessors and windows, as if hands were free.

    A job after the last window starts when its predecessors allow: the calendar's end is no reason to stop.
    """
    lasts = {job.id: job.lasts_min for job in jobs}
    starts: dict[str, int] = {}
    for job in _in_order(jobs):
        bound = max([job.earliest, *(starts[one] + lasts[one] + gap for one, gap in job.after)])
        starts[job.id] = bound if job.fixed or not job.bench_min else _up(bound, job.bench_min, windows)
    return starts


def latest_starts(jobs: Sequence[Job], windows: Sequence[Window]) -> dict[str, int]:
    """Return the last start of each job by its successors and windows, as if hands were free.

    A job with no window left before its bound gets one before every window.
    """
    starts = {job.id: job.latest for job in jobs}
    for job in reversed(_in_order(jobs)):
        if not job.fixed and job.bench_min:
            starts[job.id] = _down(starts[job.id], job.bench_min, windows)
        for before, gap in job.after:
            ended = starts[job.id] - gap - next(one.lasts_min for one in jobs if one.id == before)
            starts[before] = min(starts[before], ended)
    return starts


def _in_order(jobs: Sequence[Job]) -> list[Job]:
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
    blocking = {before for job in jobs for before, _ in job.after if soonest[job.id] > last[job.id]}
    found = []
    for job in jobs:
        by = soonest[job.id] - last[job.id]
        if by > 0 and job.id not in blocking:
            found.append(Late(job.id, by, _chain(job, by_id, soonest)))
    return tuple(found)


def _chain(job: Job, by_id: Mapping[str, Job], soonest: Mapping[str, int]) -> tuple[str, ...]:
    chain = [job.id]
    while job.after and job.earliest < soonest[job.id]:
        ends = [(soonest[one] + by_id[one].lasts_min + gap, one) for one, gap in job.after]
        end, before = max(ends)
        if end <= job.earliest:
            break
        job = by_id[before]
        chain.insert(0, before)
    return tuple(chain)


def backward_draft(
    jobs: Sequence[Job], windows: Sequence[Window], soonest: Mapping[str, int], lightest: int
) -> dict[str, int] | None:
    """Return starts by placing jobs from the last to the first, each as late as it fits, or None.

    The heaviest day grows in steps until all find a place. Good, not proven: it starts the solver off.
    """
    most = lightest + sum(job.bench_min for job in jobs)
    for peak in range(_steps(lightest) * EVEN_TO_MIN, most + 2 * EVEN_TO_MIN, EVEN_TO_MIN):
        starts = _place_backwards(jobs, windows, soonest, peak)
        if starts is not None:
            return starts
    return None


def _place_backwards(
    jobs: Sequence[Job], windows: Sequence[Window], soonest: Mapping[str, int], peak: int
) -> dict[str, int] | None:
    lasts = {job.id: job.lasts_min for job in jobs}
    held = _held_by_fixed(jobs)
    room = [max(0, peak - _fixed_load(jobs, window)) for window in windows]
    bound = {job.id: job.latest for job in jobs}
    starts: dict[str, int] = {}
    waiting = list(jobs)
    while waiting:
        needed = {before for job in waiting for before, _ in job.after}
        job = max((one for one in waiting if one.id not in needed), key=lambda one: (bound[one.id], one.id))
        waiting.remove(job)
        start = bound[job.id]
        if not job.fixed and job.bench_min:
            start = _latest_free(job, start, windows, room, held)
        if start < soonest[job.id]:
            return None
        starts[job.id] = start
        for before, gap in job.after:
            bound[before] = min(bound[before], start - gap - lasts[before])
    return starts


def _latest_free(
    job: Job, bound: int, windows: Sequence[Window], room: list[int], held: list[tuple[int, int]]
) -> int:
    for index in range(len(windows) - 1, -1, -1):
        if room[index] < job.bench_min:
            continue
        start = min(bound, windows[index].closes - job.bench_min)
        for low, high in sorted(held, reverse=True):
            if start < high and start + job.bench_min > low:
                start = low - job.bench_min
        if start >= windows[index].opens:
            room[index] -= job.bench_min
            held.append((start, start + job.bench_min))
            return start
    return min([bound, *(window.opens - 1 for window in windows)])


def _steps(minutes: int) -> int:
    return -(-minutes // EVEN_TO_MIN)


class _Model:
    """The calendar as a constraint model: a day for each job, a minute within it, one pair of hands."""

    def __init__(
        self,
        jobs: Sequence[Job],
        windows: Sequence[Window],
        soonest: Mapping[str, int],
        last: Mapping[str, int],
        lightest: int,
    ) -> None:
        from ortools.sat.python import cp_model

        self.cp = cp_model
        self.model = cp_model.CpModel()
        self.jobs, self.windows, self.soonest, self.last = jobs, windows, soonest, last
        self.start: dict[str, Any] = {}
        self.on: dict[str, dict[int, Any]] = {}
        self.ranges: dict[str, dict[int, tuple[int, int]]] = {}
        for job in jobs:
            self._add_job(job)
        self._one_job_at_a_time()
        self._each_after_its_predecessors()
        self.least_peak = _steps(lightest)
        self.peak = self._even_days(lightest)

    def _add_job(self, job: Job) -> None:
        low, high = self.soonest[job.id], self.last[job.id]
        if job.fixed or not job.bench_min:
            self.start[job.id] = self.model.new_int_var(low, high, job.id)
            return
        ranges = self.ranges[job.id] = _ranges(job, low, high, self.windows)
        domain = self.cp.Domain.from_intervals(list(ranges.values()))
        start = self.model.new_int_var_from_domain(domain, job.id)
        on = {index: self.model.new_bool_var(f"{job.id} on {index}") for index in ranges}
        self.model.add_exactly_one(on.values())
        self.model.add(start >= sum(on[index] * ranges[index][0] for index in ranges))
        self.model.add(start <= sum(on[index] * ranges[index][1] for index in ranges))
        self.start[job.id], self.on[job.id] = start, on

    def _one_job_at_a_time(self) -> None:
        held = [
            self.model.new_fixed_size_interval_var(self.start[job.id], job.bench_min, f"hands {job.id}")
            for job in self.jobs
            if job.id in self.on
        ]
        for low, high in _held_by_fixed(self.jobs):
            held.append(self.model.new_fixed_size_interval_var(low, high - low, f"held {low}"))
        self.model.add_no_overlap(held)

    def _each_after_its_predecessors(self) -> None:
        lasts = {job.id: job.lasts_min for job in self.jobs}
        for job in self.jobs:
            for before, gap in job.after:
                self.model.add(self.start[job.id] >= self.start[before] + lasts[before] + gap)
                if job.id in self.on and before in self.on:
                    self._by_day(before, job.id, lasts[before] + gap)

    def _by_day(self, before: str, job: str, apart: int) -> None:
        # Implied by the minutes, but it closes the gap of the relaxation: done by a day, hence begun in time.
        for index, (_, final) in self.ranges[job].items():
            done = [one for i, one in self.on[job].items() if i <= index]
            in_time = [
                one for i, one in self.on[before].items() if self.ranges[before][i][0] + apart <= final
            ]
            if len(in_time) < len(self.on[before]):
                self.model.add(sum(done) <= sum(in_time))

    def _even_days(self, lightest: int) -> Any:
        most = lightest + sum(job.bench_min for job in self.jobs) + 2 * EVEN_TO_MIN
        peak = self.model.new_int_var(_steps(lightest), most // EVEN_TO_MIN, "peak")
        for index, window in enumerate(self.windows):
            movable = [
                self.on[job.id][index] * job.bench_min
                for job in self.jobs
                if index in self.on.get(job.id, {})
            ]
            fixed = _fixed_load(self.jobs, window)
            if not movable:
                continue
            # A day with fixed work alone above the peak may stand, but takes nothing more.
            room = self.model.new_int_var(0, most, f"room {index}")
            self.model.add_max_equality(room, [peak * EVEN_TO_MIN - fixed, 0])
            self.model.add(sum(movable) <= room)
        return peak

    def solve(
        self, budget: Budget, draft: Mapping[str, int] | None
    ) -> tuple[dict[str, int], dict[str, int], bool] | None:
        """Return each job's window, its start as an order, and whether both goals are proven."""
        if draft is not None:
            self._hint(draft)
        self.model.minimize(self.peak)
        starts, even = self._run(budget, draft)
        if starts is None:
            return None
        self.model.add(self.peak <= self._peak_of(starts))
        self._hint(starts)
        self.model.maximize(
            sum(self.windows[index].day * one for on in self.on.values() for index, one in on.items())
        )
        starts, latest = self._run(budget, starts)
        assert starts is not None
        days = {name: self._window_of(name, starts[name]) for name in self.on}
        return days, dict(starts), even and latest

    def _run(self, budget: Budget, known: Mapping[str, int] | None) -> tuple[Mapping[str, int] | None, bool]:
        """Return the best starts found, or the known ones, and whether they are proven."""
        solver = self.cp.CpSolver()
        solver.parameters.random_seed = budget.seed
        solver.parameters.num_workers = 2
        solver.parameters.interleave_search = True
        solver.parameters.interleave_batch_size = 4
        solver.parameters.max_deterministic_time = budget.deterministic_s / 2
        solver.parameters.max_time_in_seconds = budget.emergency_s
        status = solver.solve(self.model)
        if status == self.cp.INFEASIBLE:
            return None, True
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return known, False
        return {name: solver.value(start) for name, start in self.start.items()}, status == self.cp.OPTIMAL

    def _hint(self, starts: Mapping[str, int]) -> None:
        self.model.clear_hints()
        for name, start in self.start.items():
            self.model.add_hint(start, starts[name])
        for name, on in self.on.items():
            chosen = self._window_of(name, starts[name])
            for index, one in on.items():
                self.model.add_hint(one, index == chosen)
        self.model.add_hint(self.peak, self._peak_of(starts))

    def _window_of(self, name: str, start: int) -> int:
        return next(i for i, (low, high) in self.ranges[name].items() if low <= start <= high)

    def _peak_of(self, starts: Mapping[str, int]) -> int:
        return max(self.least_peak, _steps(_peak(self.jobs, self.windows, starts)))


def _ranges(job: Job, low: int, high: int, windows: Sequence[Window]) -> dict[int, tuple[int, int]]:
    ranges = {}
    for index, window in enumerate(windows):
        first, final = max(low, window.opens), min(high, window.closes - job.bench_min)
        if first <= final:
            ranges[index] = (first, final)
    return ranges


def _held_by_fixed(jobs: Sequence[Job]) -> list[tuple[int, int]]:
    held: list[tuple[int, int]] = []
    for low, high in sorted((job.earliest, job.earliest + job.bench_min) for job in jobs if job.fixed):
        if held and low <= held[-1][1]:
            held[-1] = (held[-1][0], max(held[-1][1], high))
        else:
            held.append((low, high))
    return [(low, high) for low, high in held if high > low]


def _fixed_load(jobs: Sequence[Job], window: Window) -> int:
    return sum(
        max(0, min(job.earliest + job.bench_min, window.closes) - max(job.earliest, window.opens))
        for job in jobs
        if job.fixed
    )


def _left_in_day(
    jobs: Sequence[Job], windows: Sequence[Window], days: Mapping[str, int], order: Mapping[str, int]
) -> dict[str, int]:
    """Move every job to the front of its day, in the order found; that keeps each rule."""
    rank = {job.id: index for index, job in enumerate(jobs)}
    lasts = {job.id: job.lasts_min for job in jobs}
    held = _held_by_fixed(jobs)
    starts: dict[str, int] = {}
    free = [window.opens for window in windows]
    for job in sorted(jobs, key=lambda one: (order[one.id], rank[one.id])):
        start = max([job.earliest, *(starts[one] + lasts[one] + gap for one, gap in job.after)])
        if job.id in days:
            start = max(start, free[days[job.id]])
            for low, high in held:
                if start < high and start + job.bench_min > low:
                    start = high
            free[days[job.id]] = start + job.bench_min
        starts[job.id] = start
    return starts


def _peak(jobs: Sequence[Job], windows: Sequence[Window], starts: Mapping[str, int]) -> int:
    peak = 0
    for window in windows:
        movable = sum(
            job.bench_min for job in jobs if not job.fixed and window.opens <= starts[job.id] < window.closes
        )
        if movable:
            peak = max(peak, movable + _fixed_load(jobs, window))
    return peak

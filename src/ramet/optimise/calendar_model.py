"""The calendar as a constraint model: a window for each job, a minute within it, one pair of hands."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from ramet.optimise.calendar_draft import backward_draft
from ramet.optimise.calendar_problem import EVEN_TO_MIN, Job, Window, fixed_load_min, held_by_fixed, peak_min
from ramet.optimise.problem import Budget
from ramet.optimise.solving import Account


@dataclass(frozen=True, slots=True)
class Found:
    """The window of each job with hands, a start for all, and whether no calendar is better."""

    window_of: Mapping[str, int]
    starts: Mapping[str, int]
    proven: bool


@dataclass(frozen=True, slots=True)
class _Goal:
    """Something to make small: its expression, its value for given starts, and a bound known beforehand."""

    expression: Any
    value: int
    bound: int


def best_days(
    jobs: Sequence[Job],
    windows: Sequence[Window],
    soonest: Mapping[str, int],
    last: Mapping[str, int],
    budget: Budget,
    light_day_min: int,
) -> Found | None:
    """Return the best calendar by the goals in order, or None when one pair of hands cannot do it.

    Every start lies between `soonest` and `last`; jobs come in the order of their predecessors.
    """
    movable = [job.bench_min for job in jobs if not job.fixed]
    lightest = _steps(max([light_day_min, *movable])) * EVEN_TO_MIN
    model = _CalendarModel(jobs, windows, soonest, last, lightest)
    return model.solve(Account(budget), backward_draft(jobs, windows, soonest, lightest))


class _CalendarModel:
    def __init__(
        self,
        jobs: Sequence[Job],
        windows: Sequence[Window],
        soonest: Mapping[str, int],
        last: Mapping[str, int],
        lightest: int,
    ) -> None:
        self.model = cp_model.CpModel()
        self.jobs, self.windows, self.lightest = jobs, windows, lightest
        self.start: dict[str, Any] = {}
        self.on: dict[str, dict[int, Any]] = {}
        self.ranges: dict[str, dict[int, tuple[int, int]]] = {}
        for job in jobs:
            self._add_job(job, soonest[job.id], last[job.id])
        self._one_job_at_a_time()
        self._each_after_its_predecessors()
        self.peak = self._even_days()

    def _add_job(self, job: Job, low: int, high: int) -> None:
        if job.fixed or not job.bench_min:
            self.start[job.id] = self.model.new_int_var(low, high, job.id)
            return
        ranges = {}
        for index, window in enumerate(self.windows):
            first, final = max(low, window.opens), min(high, window.closes - job.bench_min)
            if first <= final:
                ranges[index] = (first, final)
        start = self.model.new_int_var_from_domain(
            cp_model.Domain.from_intervals(list(ranges.values())), job.id
        )
        on = {index: self.model.new_bool_var(f"{job.id} on {index}") for index in ranges}
        self.model.add_exactly_one(on.values())
        self.model.add(start >= sum(on[index] * ranges[index][0] for index in ranges))
        self.model.add(start <= sum(on[index] * ranges[index][1] for index in ranges))
        self.start[job.id], self.on[job.id], self.ranges[job.id] = start, on, ranges

    def _one_job_at_a_time(self) -> None:
        held = [
            self.model.new_fixed_size_interval_var(self.start[job.id], job.bench_min, f"hands {job.id}")
            for job in self.jobs
            if job.id in self.on
        ]
        for low, high in held_by_fixed(self.jobs):
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
        # Implied by the minutes, but it tightens the relaxation: done by a day, hence begun in time for it.
        for index, (_, final) in self.ranges[job].items():
            done = [one for i, one in self.on[job].items() if i <= index]
            in_time = [
                one for i, one in self.on[before].items() if self.ranges[before][i][0] + apart <= final
            ]
            if len(in_time) < len(self.on[before]):
                self.model.add(sum(done) <= sum(in_time))

    def _even_days(self) -> Any:
        most = self.lightest + sum(job.bench_min for job in self.jobs)
        peak = self.model.new_int_var(self.lightest // EVEN_TO_MIN, _steps(most), "peak")
        for index, window in enumerate(self.windows):
            movable = [
                self.on[job.id][index] * job.bench_min
                for job in self.jobs
                if index in self.on.get(job.id, {})
            ]
            if movable:
                # A day whose fixed work alone is above the peak may stand, but takes nothing more.
                room = self.model.new_int_var(0, _steps(most) * EVEN_TO_MIN, f"room {index}")
                fixed = fixed_load_min(self.jobs, window)
                self.model.add_max_equality(room, [peak * EVEN_TO_MIN - fixed, 0])
                self.model.add(sum(movable) <= room)
        return peak

    def solve(self, account: Account, starts: Mapping[str, int] | None) -> Found | None:
        """Meet the goals one after the other, each within what is left of the budget."""
        proven = True
        for number in range(3):
            if starts is not None:
                goal = self._goals(starts)[number]
                self._hint(starts)
                self.model.add(goal.expression <= goal.value)
                if goal.value == goal.bound:
                    continue
            self.model.minimize(self._goals(starts)[number].expression)
            answer = account.solve(self.model, account.left_s / (3 - number))
            if answer is not None and answer.verdict == "infeasible":
                return None
            if answer is not None and answer.has_solution:
                starts = {name: answer.solver.value(start) for name, start in self.start.items()}
                self.model.add(self._goals(starts)[number].expression <= self._goals(starts)[number].value)
            proven &= answer is not None and answer.verdict == "optimal"
        if starts is None:
            return None
        return Found({name: self._window_of(name, starts[name]) for name in self.on}, starts, proven)

    def _goals(self, starts: Mapping[str, int] | None) -> tuple[_Goal, _Goal, _Goal]:
        """Minutes on unwelcome days, steps of the heaviest day, days between each job and its last day."""
        known = {} if starts is None else {name: self._window_of(name, starts[name]) for name in self.on}
        bench = {job.id: job.bench_min for job in self.jobs}
        unwelcome, early = [], []
        unwelcome_min = early_days = 0
        for name, on in self.on.items():
            last_day = self.windows[max(on)].day
            for index, one in on.items():
                weight = 0 if self.windows[index].welcome else bench[name]
                unwelcome.append(one * weight)
                early.append(one * (last_day - self.windows[index].day))
                if known.get(name) == index:
                    unwelcome_min += weight
                    early_days += last_day - self.windows[index].day
        peak = self._peak_of(starts) if starts is not None else 0
        return (
            _Goal(sum(unwelcome), unwelcome_min, 0),
            _Goal(self.peak, peak, self.lightest // EVEN_TO_MIN),
            _Goal(sum(early), early_days, 0),
        )

    def _hint(self, starts: Mapping[str, int]) -> None:
        self.model.clear_hints()  # type: ignore[no-untyped-call]
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
        return max(self.lightest // EVEN_TO_MIN, _steps(peak_min(self.jobs, self.windows, starts)))


def _steps(minutes: int) -> int:
    return -(-minutes // EVEN_TO_MIN)

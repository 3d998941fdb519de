"""Checked against enumeration of every start on tiny calendars, and by hand; nothing here is published."""

from collections.abc import Sequence
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramet.optimise.calendar import Schedule, earliest_starts, latest_starts, schedule
from ramet.optimise.calendar_problem import EVEN_TO_MIN, Job, Window
from ramet.optimise.problem import Budget

BUDGET = Budget(deterministic_s=2.0, seed=1)
DAY = 1440
GRID = 20
"""Bench times, gaps and windows of the enumerated cases are multiples of this, so starts may be too."""


def three_days(welcome: Sequence[bool] = (True, True, True)) -> tuple[Window, ...]:
    return tuple(Window(day, day * 100, day * 100 + 60, welcome[day]) for day in range(3))


def breaks_a_rule(jobs: Sequence[Job], windows: Sequence[Window], starts: dict[str, int]) -> bool:
    ends = {job.id: starts[job.id] + job.lasts_min for job in jobs}
    for job in jobs:
        start = starts[job.id]
        if not job.earliest <= start <= job.latest:
            return True
        if any(start < ends[before] + gap for before, gap in job.after):
            return True
        inside = any(one.opens <= start and start + job.bench_min <= one.closes for one in windows)
        if job.bench_min and not job.fixed and not inside:
            return True
    busy = sorted((starts[job.id], starts[job.id] + job.bench_min) for job in jobs if job.bench_min)
    return any(second[0] < first[1] for first, second in pairwise(busy))


def judged(jobs: Sequence[Job], windows: Sequence[Window], starts: dict[str, int], light: int) -> list[int]:
    """Minutes on unwelcome days, steps of the heaviest day, days before each job's last window."""
    movable = [job for job in jobs if job.bench_min and not job.fixed]
    floor = max([light, *(job.bench_min for job in movable)])
    load = {one.day: 0 for one in windows}
    fixed_load = {one.day: 0 for one in windows}
    day_of = {}
    for job in jobs:
        for one in windows:
            if one.opens <= starts[job.id] < one.closes:
                (fixed_load if job.fixed else load)[one.day] += job.bench_min
                day_of[job.id] = one
    peak = max([floor, *(load[day] + fixed_load[day] for day in load if load[day])])
    unwelcome = sum(job.bench_min for job in movable if not day_of[job.id].welcome)
    return [unwelcome, -(-peak // EVEN_TO_MIN), -sum(day_of[job.id].day for job in movable)]


def best_by_enumeration(jobs: Sequence[Job], windows: Sequence[Window], light: int) -> list[int] | None:
    choices = [
        [job.earliest]
        if job.fixed
        else [start for one in windows for start in range(one.opens, one.closes, GRID)]
        for job in jobs
    ]
    found = None
    for picked in product(*choices):
        starts = {job.id: start for job, start in zip(jobs, picked, strict=True)}
        if not breaks_a_rule(jobs, windows, starts):
            worth = judged(jobs, windows, starts, light)
            found = worth if found is None else min(found, worth)
    return found


@st.composite
def tiny_calendars(draw: st.DrawFn) -> tuple[list[Job], tuple[Window, ...]]:
    windows = three_days(tuple(draw(st.lists(st.booleans(), min_size=3, max_size=3))))
    jobs: list[Job] = []
    for number in range(draw(st.integers(1, 4))):
        bench = draw(st.sampled_from([20, 40]))
        earliest = draw(st.sampled_from([0, 0, 100]))
        after = ()
        if jobs and draw(st.booleans()):
            after = ((draw(st.sampled_from([job.id for job in jobs])), draw(st.sampled_from([0, 20, 100]))),)
        jobs.append(Job(f"j{number}", bench, bench, earliest, 280, after))
    if draw(st.booleans()):
        jobs.append(Job("fixed", 40, 40, 220, 220, ((jobs[0].id, 0),)))
    return jobs, windows


@settings(max_examples=60, deadline=None)
@given(tiny_calendars(), st.sampled_from([0, 40]))
def test_no_calendar_is_better_than_the_one_found(
    case: tuple[list[Job], tuple[Window, ...]], light: int
) -> None:
    jobs, windows = case
    found = schedule(jobs, windows, BUDGET, light)
    best = best_by_enumeration(jobs, windows, light)
    if best is None:
        assert not found.feasible
    else:
        assert found.feasible
        assert found.proven
        assert not breaks_a_rule(jobs, windows, dict(found.starts))
        assert judged(jobs, windows, dict(found.starts), light) == best


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 8), st.integers(4, 14), st.integers(0, 3))
def test_every_job_waits_for_its_predecessors_and_their_gap(tanks: int, spacing_d: int, slack_d: int) -> None:
    days = spacing_d + slack_d + 3
    windows = [Window(day, day * DAY + 480, day * DAY + 1080, day % 7 < 5) for day in range(days)]
    jobs = [Job("pack", 240, 240, days * DAY - 900, days * DAY - 900)]
    for tank in range(tanks):
        jobs.append(Job(f"dip1-{tank}", 35, 35, 0, days * DAY))
        after = ((f"dip1-{tank}", spacing_d * DAY),)
        jobs.append(Job(f"dip2-{tank}", 35, 35, 0, (days - 2) * DAY, after))
    found = schedule(jobs, windows, Budget(0.2, 1))
    assert found.feasible
    assert not breaks_a_rule(jobs, windows, dict(found.starts))
    assert all(found.starts[job.id] <= found.latest_starts[job.id] for job in jobs)


def test_latest_starts_follow_the_chain_back_from_the_end() -> None:
    # By hand: pack stands at 5000; dip must end a day before it, so starts by 5000 - 1440 - 30 = 3530,
    # which is past closing (3 * 1440 = 4320 opens too late; day 2 closes at 2 * 1440 + 600 = 3480): 3450.
    windows = [Window(day, day * DAY, day * DAY + 600) for day in range(4)]
    jobs = [
        Job("cut", 60, 60, 0, 9999),
        Job("dip", 30, 30, 0, 9999, (("cut", 2 * DAY),)),
        Job("pack", 60, 60, 5000, 5000, (("dip", DAY),)),
    ]
    # cut ends by 3450 - 2880 = 570, so starts by 510.
    assert latest_starts(jobs, windows) == {"cut": 510, "dip": 3450, "pack": 5000}
    # dip starts 2 days after the cut ends at 60: at 2940, inside day 2.
    assert earliest_starts(jobs, windows) == {"cut": 0, "dip": 2940, "pack": 5000}


def test_too_late_says_by_how_much_and_through_which_chain() -> None:
    windows = [Window(day, day * DAY, day * DAY + 600) for day in range(4)]
    jobs = [
        Job("cut", 60, 60, DAY, 9999),
        Job("dip", 30, 30, 0, 9999, (("cut", 2 * DAY),)),
        Job("pack", 60, 60, 5000, 5000, (("dip", DAY),)),
    ]
    found = schedule(jobs, windows, BUDGET)
    # Cut from day 1: dip at 1440 + 60 + 2880 = 4380, ended 4410; pack not before 5850, 850 late.
    assert not found.feasible
    assert [(late.job, late.by_min, late.chain) for late in found.late] == [
        ("pack", 850, ("cut", "dip", "pack"))
    ]


def test_jobs_go_to_the_latest_days_when_the_bench_is_light() -> None:
    jobs = [Job(name, 20, 20, 0, 299) for name in "abc"]
    found = schedule(jobs, three_days(), BUDGET, light_day_min=60)
    assert sorted(found.starts.values()) == [200, 220, 240]


def test_the_bench_is_loaded_evenly_before_jobs_go_late() -> None:
    jobs = [Job(name, 20, 20, 0, 299) for name in "abc"]
    assert sorted(schedule(jobs, three_days(), BUDGET).starts.values()) == [0, 100, 200]


def test_a_sunday_is_worked_only_when_it_must_be() -> None:
    windows = three_days((True, True, False))
    free = schedule([Job("look", 20, 20, 0, 299)], windows, BUDGET)
    bound = schedule([Job("look", 20, 20, 190, 299)], windows, BUDGET)
    assert (free.starts["look"], bound.starts["look"]) == (100, 200)


def test_two_jobs_that_need_the_same_hour_are_too_much_for_one_pair_of_hands() -> None:
    jobs = [Job("a", 60, 60, 0, 5), Job("b", 60, 60, 0, 5)]
    found = schedule(jobs, three_days(), BUDGET)
    assert not found.feasible
    assert found.late == ()


def test_the_same_calendar_comes_out_twice() -> None:
    windows = [Window(day, day * DAY + 480, day * DAY + 1080) for day in range(20)]
    jobs = [Job(f"j{n}", 30 + n % 3, 30 + n % 3, 0, 20 * DAY) for n in range(30)]
    jobs += [Job(f"k{n}", 25, 25, 0, 20 * DAY, ((f"j{n}", 3 * DAY),)) for n in range(30)]

    def once() -> Schedule:
        return schedule(jobs, windows, Budget(0.1, 1))

    first = once()
    assert first.feasible
    assert once() == first


def test_hands_longer_than_the_job_are_refused() -> None:
    with pytest.raises(ValueError, match="bench_min"):
        Job("a", 10, 20, 0, 5)


def test_a_circle_of_jobs_is_refused() -> None:
    jobs = [Job("a", 1, 1, 0, 5, (("b", 0),)), Job("b", 1, 1, 0, 5, (("a", 0),))]
    with pytest.raises(ValueError, match="cycle"):
        schedule(jobs, three_days(), BUDGET)

"""What the calendar is about: jobs with their order, working windows, and the load of a day at the bench."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

EVEN_TO_MIN = 15
"""Days whose loads differ by less than this count as equally loaded."""


@dataclass(frozen=True, slots=True)
class Window:
    """Working time of one day, half open. `day` numbers days, so that differences are days.

    A day that is not `welcome`, such as a Sunday, is worked only when there is no other way.
    """

    day: int
    opens: int
    closes: int
    welcome: bool = True


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


def held_by_fixed(jobs: Sequence[Job]) -> list[tuple[int, int]]:
    """Return the stretches in which fixed jobs hold the hands, joined where they overlap."""
    held: list[tuple[int, int]] = []
    for low, high in sorted((job.earliest, job.earliest + job.bench_min) for job in jobs if job.fixed):
        if held and low <= held[-1][1]:
            held[-1] = (held[-1][0], max(held[-1][1], high))
        else:
            held.append((low, high))
    return [(low, high) for low, high in held if high > low]


def fixed_load_min(jobs: Sequence[Job], window: Window) -> int:
    """Return the minutes of a window that fixed jobs take."""
    return sum(
        max(0, min(job.earliest + job.bench_min, window.closes) - max(job.earliest, window.opens))
        for job in jobs
        if job.fixed
    )


def peak_min(jobs: Sequence[Job], windows: Sequence[Window], starts: Mapping[str, int]) -> int:
    """Return the load of the heaviest day among those that have movable work."""
    peak = 0
    for window in windows:
        movable = sum(
            job.bench_min for job in jobs if not job.fixed and window.opens <= starts[job.id] < window.closes
        )
        if movable:
            peak = max(peak, movable + fixed_load_min(jobs, window))
    return peak

"""Turns the work of a shipment into minutes, and finds the calendar that fits."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from ramet.optimise.calendar import Late, Schedule, earliest_starts, latest_starts, schedule
from ramet.optimise.calendar_problem import Job, Window
from ramet.optimise.problem import Budget
from ramet.services.calendar.carrier_days import public_holidays
from ramet.services.calendar.last_days import last_days
from ramet.services.calendar.set_days import packing_min
from ramet.services.calendar.work import Setting, Work, dip_groups, growing_work

if TYPE_CHECKING:
    from ramet.formats.plan import Bag, Chosen

DETERMINISTIC_S = 0.6
PACK = "pack"


@dataclass(frozen=True, slots=True)
class Fitted:
    """The calendar that fits, with the dips that do (`setting`), without jobs that can't be done in time."""

    setting: Setting
    work: tuple[Work, ...]
    left_out: tuple[tuple[Work, Late], ...]
    planned: Schedule

    @property
    def free_days(self) -> tuple[date, ...]:
        """The weekend days and public holidays on which work falls."""
        zone = self.setting.zone
        hands = (one for one in self.work if one.hands_min != 0)
        days = {to_moment(self.setting, self.planned.starts[one.id], zone).date() for one in hands}
        return tuple(sorted(day for day in days if is_free(self.setting, day)))


def fit(setting: Setting, chosen: Sequence["Chosen"], bags: Sequence["Bag"], seed: int) -> Fitted:
    """Return the calendar with as many dips as fit, and then without what is too late to be done at all."""
    work = all_work(setting, chosen, bags)
    windows = _windows(setting)
    left_out: list[tuple[Work, Late]] = []
    while True:
        planned = _schedule(setting, work, bags, windows, seed)
        fewer = _fewer_dips(setting, chosen, planned.late)
        if fewer is not None:
            setting = fewer
            gone = {one.id for one, _ in left_out}
            work = _without(all_work(setting, chosen, bags), gone)
            continue
        late = {one.job: one for one in planned.late if one.job != PACK}
        if not late:
            return Fitted(setting, work, tuple(left_out), planned)
        left_out += [(one, late[one.id]) for one in work if one.id in late]
        work = _without(work, set(late))


def fits_by(setting: Setting, chosen: Sequence["Chosen"], bags: Sequence["Bag"]) -> bool:
    """Tell whether every job can be done in time, as if hands were free."""
    jobs, windows = _jobs(setting, all_work(setting, chosen, bags), bags), _windows(setting)
    soonest, last = earliest_starts(jobs, windows), latest_starts(jobs, windows)
    return all(soonest[job.id] <= last[job.id] for job in jobs)


def all_work(setting: Setting, chosen: Sequence["Chosen"], bags: Sequence["Bag"]) -> tuple[Work, ...]:
    """Return every job of the sender before the packing, and the receiver's test."""
    return (*growing_work(setting, chosen), *last_days(setting, chosen, bags))


def is_free(setting: Setting, day: date) -> bool:
    """Tell whether a day is a weekend or public holiday of the sender."""
    week = round(setting.typical("working_days_a_week"))
    return day.weekday() >= week or day in public_holidays(setting.shipment.carrier.holidays, day.year)


def to_moment(setting: Setting, minute: int, zone: ZoneInfo) -> datetime:
    """Return the moment of a minute, on the clock of a zone."""
    return (setting.begins.astimezone(UTC) + timedelta(minutes=minute)).astimezone(zone)


def _minute(setting: Setting, moment: datetime) -> int:
    """Whole minutes of real time since the first moment of work; the clock change of a zone is in it."""
    return math.floor((moment.astimezone(UTC) - setting.begins.astimezone(UTC)).total_seconds() / 60)


def _fewer_dips(setting: Setting, chosen: Sequence["Chosen"], late: Sequence[Late]) -> Setting | None:
    """Return the setting with one dip less for each group whose dips are in the way; None when none is."""
    in_the_way = {one for found in late for one in (found.job, *found.chain)}
    fewer = dict(setting.dips)
    for number, name in enumerate(dip_groups(setting, chosen), 1):
        if fewer[name] and any(one.startswith(f"dip-{number}-") for one in in_the_way):
            fewer[name] -= 1
    return replace(setting, dips=fewer) if fewer != setting.dips else None


def _without(work: Sequence[Work], gone: set[str]) -> tuple[Work, ...]:
    return tuple(
        replace(one, after=tuple(before for before in one.after if before[0] not in gone))
        for one in work
        if one.id not in gone
    )


def _schedule(
    setting: Setting, work: Sequence[Work], bags: Sequence["Bag"], windows: Sequence[Window], seed: int
) -> Schedule:
    jobs = _jobs(setting, work, bags)
    slack = round(setting.typical("job_slack") * 1440)
    last = latest_starts(jobs, windows)
    near = [
        job if job.fixed else replace(job, earliest=max(job.earliest, last[job.id] - slack)) for job in jobs
    ]
    return schedule(near, windows, Budget(DETERMINISTIC_S, seed), setting.minutes("light_day"))


def _jobs(setting: Setting, work: Sequence[Work], bags: Sequence["Bag"]) -> list[Job]:
    starts = _minute(setting, setting.sealed_from)
    lasts = min(packing_min(setting, bags), max(0, _minute(setting, setting.departs) - starts))
    return [*(_job(setting, one) for one in work), Job(PACK, lasts, lasts, starts, starts)]


def _job(setting: Setting, work: Work) -> Job:
    hands = work.lasts_min if work.hands_min is None else work.hands_min
    first, last = _minute(setting, work.starts_from), _minute(setting, work.ends_by) - work.lasts_min
    after = tuple((before, math.ceil(hours * 60)) for before, hours in work.after)
    return Job(work.id, work.lasts_min, hands, first, last, after)


def _windows(setting: Setting) -> list[Window]:
    found = []
    for ahead in range((setting.packed_on - setting.today).days + 1):
        day = setting.today + timedelta(days=ahead)
        opens = _minute(setting, setting.at(day, setting.typical("working_day_starts")))
        closes = _minute(setting, setting.day_ends(day))
        found.append(Window(day.toordinal(), opens, closes, welcome=not is_free(setting, day)))
    return found

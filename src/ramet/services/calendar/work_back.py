"""The work-back calendar: every task from the first dip to the receiver's last look, with its times.

Worked back from the packing: what must be done by when follows from healing, hatching, fasting and the
carrier; `ramet.optimise.calendar` then places each job as late as it may be, with even days at the bench.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from ramet.formats.plan import Task
from ramet.optimise.calendar import Schedule
from ramet.services.calendar.carrier_days import in_words, shipping_days
from ramet.services.calendar.fitting import Fitted, fit, fits_by, to_moment
from ramet.services.calendar.healing import edge_sealed_on
from ramet.services.calendar.lateness import Lateness, cautions, problems
from ramet.services.calendar.set_days import handover, packing_tasks, receiver_tasks
from ramet.services.calendar.work import CutGroup, Setting, Work, cut_groups, dip_groups

if TYPE_CHECKING:
    from ramet.formats.plan import Bag, Chosen
    from ramet.formats.shipment import Shipment
    from ramet.reference.tables import Reference


@dataclass(frozen=True, slots=True)
class WorkBack:
    """The tasks in order of time; what keeps the boxes from leaving as planned; the first day that works.

    `earliest_possible` is the first packing day on which the whole calendar fits, None when it does
    already. `cautions` are short of a problem: fewer dips, work on a Sunday, a holiday on the way.
    """

    tasks: tuple[Task, ...]
    problems: tuple[str, ...]
    earliest_possible: date | None
    cautions: tuple[str, ...] = ()


def work_back(
    chosen: Sequence["Chosen"],
    bags: Sequence["Bag"],
    shipment: "Shipment",
    reference: "Reference",
    today: date,
    sealed_from: datetime,
    departs: datetime,
    *,
    tanks: Mapping[str, str] | None = None,
    seed: int = 1,
) -> WorkBack:
    """Return the calendar of a shipment.

    `sealed_from` is when the first bag is sealed, `departs` when the boxes are handed over. `tanks` names
    the tank of each piece (of its mother, for a cut), so that a tank's pieces are worked on together.
    Where nothing goes, nothing is to be done.
    """
    if not bags:
        return WorkBack((), (), None)
    zone = ZoneInfo(shipment.sender.zone)
    sealed, leaves = sealed_from.astimezone(UTC), departs.astimezone(UTC)
    setting = Setting(shipment, reference, today, sealed, leaves, zone, tanks or {})
    wanted = {name: round(setting.typical("dip_count")) for name in dip_groups(setting, chosen)}
    setting = replace(setting, dips=wanted)
    if setting.packed_on < today:
        gone = f"The first bag was to be sealed on {in_words(setting.packed_on)}, which is past."
        return WorkBack((), (gone,), _works_on(setting, chosen, bags))
    fitted = fit(setting, chosen, bags, seed)
    short = {
        name: (fitted.setting.dips[name], count)
        for name, count in wanted.items()
        if fitted.setting.dips[name] < count
    }
    late = Lateness(cut_groups(setting, chosen)[1], short, fitted)
    if late.any:
        late = replace(late, works_on=_works_on(setting, chosen, bags))
    return WorkBack(
        tuple(_on_paper(task) for task in _tasks(fitted, chosen, bags)),
        problems(setting, chosen, bags, late),
        late.works_on,
        cautions(setting, late),
    )


def _works_on(setting: Setting, chosen: Sequence["Chosen"], bags: Sequence["Bag"]) -> date | None:
    """Return the first packing day, handed over on a shipping day, on which the whole calendar fits."""
    leaves_on = setting.departs.astimezone(setting.zone).date()
    for day in shipping_days(setting.shipment.carrier, max(setting.today, leaves_on)):
        moved = _moved(setting, day - leaves_on)
        if not cut_groups(moved, chosen)[1] and fits_by(moved, chosen, bags):
            return moved.packed_on
    return None


def _moved(setting: Setting, by: timedelta) -> Setting:
    """The same clock times on another day: the clock may have changed in between."""
    sealed = setting.sealed_from.astimezone(setting.zone) + by
    leaves = setting.departs.astimezone(setting.zone) + by
    return replace(setting, sealed_from=sealed.astimezone(UTC), departs=leaves.astimezone(UTC))


def _tasks(fitted: Fitted, chosen: Sequence["Chosen"], bags: Sequence["Bag"]) -> tuple[Task, ...]:
    setting, work, planned = fitted.setting, fitted.work, fitted.planned
    last_part = {one.id: _part_id(one, len(one.parts) - 1) for one in work}
    tasks = [task for one in work for task in _parts(setting, one, planned, last_part)]
    groups, _ = cut_groups(setting, chosen)
    tasks += [_healing(setting, group, tasks) for group in groups]
    needed_later = {before for task in tasks for before in task.after}
    open_ends = tuple(task.id for task in tasks if task.id not in needed_later)
    packed = packing_tasks(setting, bags, open_ends)
    last = (packed[-1].id,) if packed else open_ends
    tasks += [*packed, handover(setting, last), *receiver_tasks(setting, bags)]
    return tuple(sorted(tasks, key=lambda task: (task.starts.astimezone(UTC), task.id)))


def _part_id(work: Work, part: int) -> str:
    return work.id if part == 0 else f"{work.parts[part][0]}-{work.id.rpartition('-')[2]}"


def _parts(setting: Setting, work: Work, planned: Schedule, last_part: Mapping[str, str]) -> list[Task]:
    zone = setting.zone if work.zone is None else work.zone
    starts, latest = planned.starts[work.id], planned.latest_starts[work.id]
    tasks: list[Task] = []
    for part, (kind, title, lasts) in enumerate(work.parts):
        after = (tasks[-1].id,) if tasks else tuple(last_part[before] for before, _ in work.after)
        gap_h = 0.0 if tasks else min((hours for _, hours in work.after), default=0.0)
        tasks.append(
            Task(
                id=_part_id(work, part),
                kind=kind,
                title=title,
                pieces=work.pieces,
                starts=to_moment(setting, starts, zone),
                ends=to_moment(setting, starts + lasts, zone),
                latest_start=to_moment(setting, latest, zone),
                bench_min=lasts if work.hands_min is None else work.hands_min,
                after=after,
                gap_h=gap_h,
                note=work.note,
            )
        )
        starts, latest = starts + lasts, latest + lasts
    return tasks


def _healing(setting: Setting, group: CutGroup, tasks: Sequence[Task]) -> Task:
    """The wait for closed edges: no hands, from the mounting to the day the slowest edge counts as sealed."""
    mounted = next(task for task in tasks if task.id == f"mount-{group.index}")
    cut_on = mounted.starts.date()
    sealed_on = max(
        edge_sealed_on(setting.reference, piece.taxon, piece.form, cut_on) for piece in group.pieces
    )
    morning = setting.at(sealed_on, setting.typical("working_day_starts"))
    ends = max(min(morning, setting.sealed_from), mounted.ends.astimezone(UTC))
    lasts = mounted.ends.astimezone(UTC) - mounted.starts.astimezone(UTC)
    days = (sealed_on - cut_on).days
    return Task(
        id=f"heal-{group.index}",
        kind="heal",
        title=f"Edges close on {len(group.pieces)} cut from {group.mothers}: {days} days",
        pieces=group.ids,
        starts=mounted.ends,
        ends=ends.astimezone(setting.zone),
        latest_start=(mounted.latest_start.astimezone(UTC) + lasts).astimezone(setting.zone),
        bench_min=0,
        after=(mounted.id,),
        note="Steady water, the mother's light, no dip for the first days.",
    )


def _on_paper(task: Task) -> Task:
    """The same moments with a fixed offset, as a file has them: differences are then in real time."""
    moments = {name: getattr(task, name) for name in ("starts", "ends", "latest_start")}
    fixed = {name: one.replace(tzinfo=timezone(one.utcoffset())) for name, one in moments.items()}
    return task.model_copy(update=fixed)

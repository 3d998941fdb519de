"""The sheet of days: every task worked back from the due time, with its latest start and bench minutes."""

from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from ramet.formats.plan import Plan, Task
from ramet.papers import words
from ramet.papers.reader_zone import zone_of

Context = dict[str, Any]
MOST_BEFORE = 3


def calendar_context(plan: Plan) -> list[Context]:
    """Return the days with their tasks in order of time."""
    tasks = sorted(plan.tasks, key=lambda task: (task.starts, task.id))
    return [
        {
            "day": words.day(day),
            "zone": zone,
            "bench": sum(task["bench_min"] for task in listed),
            "tasks": listed,
        }
        for (day, zone), listed in (
            (key, [_task(plan, task) for task in group])
            for key, group in groupby(tasks, key=lambda task: _day_and_zone(plan, task))
        )
    ]


def _day_and_zone(plan: Plan, task: Task) -> tuple[Any, str]:
    zone = zone_of(plan, task.starts)
    return task.starts.astimezone(ZoneInfo(zone)).date(), words.zone_name(task.starts, zone)


def _after(titles: list[str]) -> str:
    """Name the tasks that must be done before; of many, the last few."""
    if len(titles) <= MOST_BEFORE:
        return "; ".join(titles)
    return f"{'; '.join(titles[-MOST_BEFORE:])}; and {len(titles) - MOST_BEFORE} earlier ones"


def _time(task: Task, zone: str) -> str:
    starts, ends = words.moment(task.starts, zone), words.moment(task.ends, zone)
    if starts[:-5] == ends[:-5]:
        return f"{starts[-5:]}–{ends[-5:]}"
    return f"{starts[-5:]} to {ends}"


def _task(plan: Plan, task: Task) -> Context:
    zone = zone_of(plan, task.starts)
    titles = {other.id: other.title for other in plan.tasks}
    return {
        "time": _time(task, zone),
        "title": task.title,
        "pieces": ", ".join(task.pieces),
        "latest": words.moment(task.latest_start, zone),
        "bench_min": task.bench_min,
        "after": _after([titles.get(key, key) for key in task.after]),
        "note": task.note,
    }

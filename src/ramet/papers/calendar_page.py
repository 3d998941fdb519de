"""The sheet of days: every task worked back from the due time, with its latest start and bench minutes."""

from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from ramet.formats.plan import Plan, Task
from ramet.papers import words
from ramet.papers.reader_zone import zone_of

Context = dict[str, Any]


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


def _task(plan: Plan, task: Task) -> Context:
    zone = zone_of(plan, task.starts)
    titles = {other.id: other.title for other in plan.tasks}
    return {
        "time": f"{words.clock(task.starts, zone)}–{words.clock(task.ends, zone)}",
        "title": task.title,
        "pieces": ", ".join(task.pieces),
        "count": words.plural(len(task.pieces), "piece") if task.pieces else "",
        "latest": words.moment(task.latest_start, zone),
        "bench_min": task.bench_min,
        "after": "; ".join(titles.get(key, key) for key in task.after),
        "note": task.note,
    }

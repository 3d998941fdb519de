"""Calendar: every task of every shipment by day, latest starts, bench hours, ticks."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

from ramet.formats.plan import Plan, Task
from ramet.papers.reader_zone import zone_of
from ramet.services.sending.task_ticks import read_ticks, tick
from ramet.services.shelf import ShelfPlace, shipments
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import SentForm
from ramet.web.pages.shipments import stations_of
from ramet.web.render import go_to, render
from ramet.web.shipment_desk import AtPlanned, plan_of

routes = APIRouter()
LONG_DAY_MIN = 8 * 60
"""The bar of a day is full at so many bench minutes."""
ICS = "tasks.ics"


@routes.get("/calendar")
def calendar(request: Request, desk: AtDesk, show: str = "open", shipment: str = "") -> Response:
    """Show days with their tasks: those not done of shipments still to come, or all."""
    places = [place for place in shipments(desk.files) if place.plan is not None]
    wanted = [place for place in places if not shipment or place.key == shipment]
    context = _context(desk, wanted, show == "all") | {
        "shipment": shipment,
        "places": [(place.key, place.name) for place in places],
    }
    return render(request, "calendar/calendar.html", context)


@routes.get("/shipments/{key}/calendar")
def calendar_of(request: Request, desk: AtDesk, place: AtPlanned, show: str = "open") -> Response:
    """Show the days of one shipment."""
    context = _context(desk, [place], show == "all")
    return render(
        request, "calendar/shipment.html", context | {"place": place, "stations": stations_of(request, place)}
    )


@routes.post("/shipments/{key}/tasks")
def tick_task(request: Request, desk: AtDesk, place: AtPlanned, sent: SentForm) -> Response:
    """Tick a task, or take its tick back."""
    done_at = None if sent.get("done") == "no" else datetime.now(UTC)
    if not tick(place.folder, plan_of(place), sent.get("task"), done_at):
        raise HTTPException(404, "The plan was made anew and has no such task any more.")
    back = sent.get("back")
    inside = back.startswith(("/calendar", f"/shipments/{place.key}/calendar"))
    return go_to(request, back if inside else "/calendar")


def _context(desk: Desk, places: Iterable[ShelfPlace], everything: bool) -> dict[str, Any]:
    rows = [row for place in places for row in _rows(desk, place, everything)]
    return {
        "show": "all" if everything else "open",
        "files": [(place.key, place.name) for place in places if (place.folder / ICS).exists()],
        "days": _days(desk, rows),
        "late": sum(row["late"] for row in rows),
        "open": sum(not row["done"] for row in rows),
    }


def _rows(desk: Desk, place: ShelfPlace, everything: bool) -> Iterable[dict[str, Any]]:
    plan, ticks = plan_of(place), read_ticks(place.folder)
    titles = {task.id: task.title for task in plan.tasks}
    for task in plan.tasks:
        done = task.id in ticks
        if everything or (not done and plan.shipment.due.date() >= desk.today):
            yield _row(desk, place, plan, task, done) | {
                "after": [titles[one] for one in task.after if one in titles and one not in ticks]
            }


def _row(desk: Desk, place: ShelfPlace, plan: Plan, task: Task, done: bool) -> dict[str, Any]:
    zone = zone_of(plan, task.starts)
    starts, ends = task.starts.astimezone(ZoneInfo(zone)), task.ends.astimezone(ZoneInfo(zone))
    name = starts.tzname() or zone
    same = ends.date() == starts.date()
    until = f"{desk.say.clock(ends, zone)} {name}" if same else desk.say.moment(ends, zone)
    return {
        "key": place.key,
        "shipment": place.name,
        "task": task.id,
        "title": task.title,
        "on": starts.date(),
        "sort": (starts, place.key, task.id),
        "time": f"{desk.say.clock(starts, zone)} to {until}",
        "latest": desk.say.moment(task.latest_start, zone),
        "bench_min": task.bench_min,
        "bench": desk.say.count(task.bench_min, "bench minute") if task.bench_min else "",
        "pieces": ", ".join(task.pieces),
        "note": task.note,
        "done": done,
        "late": not done and task.latest_start.astimezone(ZoneInfo(zone)).date() < desk.today,
    }


def _days(desk: Desk, rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    days: dict[date, list[dict[str, Any]]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: row["sort"]):
        days[row["on"]].append(row)
    listed = []
    for on, tasks in sorted(days.items()):
        minutes = sum(task["bench_min"] for task in tasks if not task["done"])
        listed.append(
            {
                "id": on.isoformat(),
                "day": desk.say.day(on),
                "today": on == desk.today,
                "tasks": tasks,
                "hours": desk.say.number(minutes / 60),
                "bar": round(min(minutes / LONG_DAY_MIN, 1.0) * 200, 1),
                "long": minutes > LONG_DAY_MIN,
            }
        )
    return listed

"""The tasks of a plan as an iCalendar file (RFC 5545), for any calendar program."""

from datetime import UTC, date, datetime, time
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, Timezone, vDatetime

from ramet.formats.plan import Plan, Task
from ramet.papers import words
from ramet.papers.reader_zone import zone_of


def tasks_ics(plan: Plan) -> bytes:
    """Return every task as an event, with the time zones it needs. The same plan gives the same bytes.

    Identifiers follow from the shipment and the task, so that a newer plan moves events instead of
    doubling them; the time stamp is the day the plan was made, not the machine's clock.
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//ramet//{plan.made_from.ramet}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", plan.shipment.name)
    tasks = sorted(plan.tasks, key=lambda task: (task.starts, task.id))
    for zone in _zones(plan, tasks):
        calendar.add_component(zone)
    for task in tasks:
        calendar.add_component(_event(plan, task))
    return bytes(calendar.to_ical(sorted=False))


def task_uid(plan: Plan, task: Task) -> str:
    """Return the identifier of a task's event: one for each shipment, due day and task."""
    name = f"ramet:{plan.shipment.name}:{plan.shipment.due.astimezone(UTC):%Y%m%d}:{task.id}"
    return f"{uuid5(NAMESPACE_URL, name)}@ramet"


def _zones(plan: Plan, tasks: list[Task]) -> list[Timezone]:
    """The zones in use, with their changes of clock over the years of the tasks alone."""
    names = sorted({zone_of(plan, task.starts) for task in tasks} - {"UTC"})
    if not names:
        return []
    first = date(min(task.starts for task in tasks).year - 1, 1, 1)
    last = date(max(task.ends for task in tasks).year + 2, 1, 1)
    return [Timezone.from_tzid(name, first_date=first, last_date=last) for name in names]


def _event(plan: Plan, task: Task) -> Event:
    zone = ZoneInfo(zone_of(plan, task.starts))
    stamp = datetime.combine(plan.made_from.today, time(), UTC)
    event = Event()
    event.add("uid", task_uid(plan, task))
    event.add("dtstamp", vDatetime(stamp))
    event.add("dtstart", task.starts.astimezone(zone))
    event.add("dtend", task.ends.astimezone(zone))
    event.add("summary", task.title)
    event.add("description", _description(plan, task))
    event.add("categories", [words.plain(task.kind)])
    return event


def _description(plan: Plan, task: Task) -> str:
    lines = [f"Shipment: {plan.shipment.name}"]
    if task.pieces:
        lines.append(f"Pieces: {', '.join(task.pieces)}")
    latest = words.zoned(task.latest_start, zone_of(plan, task.starts))
    lines.append(f"Latest start: {latest}")
    if task.bench_min:
        lines.append(f"Bench: {task.bench_min} min")
    titles = {other.id: other.title for other in plan.tasks}
    if task.after:
        lines.append("After: " + "; ".join(titles.get(key, key) for key in task.after))
    if task.note:
        lines.append(task.note)
    return "\n".join(lines)

"""The task calendar, read back with the icalendar library and against RFC 5545."""

from datetime import UTC, datetime

from icalendar import Calendar
from sample_plan import sample_dict, sample_plan

from ramet.formats.plan import Plan
from ramet.papers.calendar_file import tasks_ics


def _events(plan):
    return {str(event["summary"]): event for event in Calendar.from_ical(tasks_ics(plan)).walk("VEVENT")}


def test_every_task_comes_back_at_its_own_time():
    plan = sample_plan()
    events = _events(plan)
    assert len(events) == len(plan.tasks)
    for task in plan.tasks:
        assert events[task.title]["dtstart"].dt == task.starts
        assert events[task.title]["dtend"].dt == task.ends


def test_work_at_the_receivers_is_written_in_the_receivers_zone():
    events = _events(sample_plan())
    assert events["Open the bags in order"]["dtstart"].params["TZID"] == "America/Phoenix"
    assert events["Last feeding"]["dtstart"].params["TZID"] == "America/Chicago"


def test_each_zone_that_is_named_is_defined():
    """RFC 5545, 3.2.19: an individual VTIMEZONE must be given for each unique TZID."""
    calendar = Calendar.from_ical(tasks_ics(sample_plan()))
    named = {event["dtstart"].params["TZID"] for event in calendar.walk("VEVENT")}
    assert {str(zone["tzid"]) for zone in calendar.walk("VTIMEZONE")} == named


def test_lines_end_and_fold_as_the_standard_asks():
    """RFC 5545, 3.1: lines end in CRLF and are no longer than 75 octets."""
    lines = tasks_ics(sample_plan(12, name="Bücher und Riffe, " * 6)).split(b"\r\n")
    assert lines[-1] == b""
    assert all(b"\n" not in line and len(line) <= 75 for line in lines)


def test_the_same_plan_gives_the_same_bytes_and_the_stamp_is_the_planning_day():
    plan = sample_plan()
    assert tasks_ics(plan) == tasks_ics(sample_plan())
    for event in _events(plan).values():
        assert event["dtstamp"].dt == datetime(2027, 1, 4, tzinfo=UTC)


def test_a_moved_task_keeps_its_identifier_so_that_calendars_move_it():
    before = sample_dict(8, boxes=2, name="Library reef", long_names=False)
    after = sample_dict(8, boxes=2, name="Library reef", long_names=False)
    after["tasks"][0]["starts"] = before["tasks"][1]["starts"]
    after["tasks"][0]["ends"] = before["tasks"][1]["ends"]
    uids = [
        {str(event["summary"]): str(event["uid"]) for event in _events(Plan.model_validate(one)).values()}
        for one in (before, after)
    ]
    assert uids[0] == uids[1]
    assert len(set(uids[0].values())) == len(before["tasks"])


def test_a_plan_without_tasks_is_an_empty_calendar():
    empty = sample_dict(1, boxes=1, name="x", long_names=False) | {"tasks": []}
    assert not Calendar.from_ical(tasks_ics(Plan.model_validate(empty))).walk("VEVENT")

"""From rows of a spots table to entries: only what differs from what is known of the place."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from ramet.domain.events import Entry, Kind, day_start
from ramet.domain.piece import name_key
from ramet.domain.places import SpotRecord
from ramet.domain.problems import Problem
from ramet.formats.spots import spot_fields
from ramet.formats.table import Row
from ramet.services.importing.record_checks import CheckedRecords, Names

_Place = tuple[str, str, str]


def check_spots(
    rows: Sequence[Row], known: Sequence[SpotRecord], names: Names, today: date
) -> CheckedRecords:
    """Hold places against what is known of them.

    A row without a day speaks of today; when the place is like that already, it changes nothing. A row
    with a day of its own replaces what was said of the place on that day.
    """
    have: dict[_Place, dict[date, SpotRecord]] = {}
    for record in known:
        have.setdefault(_place(record), {})[record.on] = record
    entries: list[Entry] = []
    problems: list[Problem] = []
    same = 0
    for row in rows:
        bad = _problems(row, names, today)
        if bad:
            problems += bad
            continue
        record = _record(row, names, today)
        days = have.setdefault(_place(record), {})
        if _is_known(row, record, days):
            same += 1
            continue
        days[record.on] = record
        entries.append(spot_entry(record))
    return CheckedRecords(tuple(entries), same, tuple(problems))


def spot_entry(record: SpotRecord) -> Entry:
    """Return the entry that says what a place is like from a day on; what is open is left out."""
    said = {"tank": record.tank, "spot": record.spot, **spot_fields(record)}
    payload = {name: value for name, value in said.items() if value is not None}
    return Entry(Kind.SPOT, day_start(record.on), payload, system=record.system)


def _place(record: SpotRecord) -> _Place:
    return name_key(record.system), name_key(record.tank), name_key(record.spot or "")


def _is_known(row: Row, record: SpotRecord, days: dict[date, SpotRecord]) -> bool:
    if row.values.get("on") is not None:
        return days.get(record.on) == record
    latest = days[max(days)] if days else None
    return latest is not None and replace(latest, on=record.on) == record


def _problems(row: Row, names: Names, today: date) -> list[Problem]:
    on = row.values.get("on")
    found = []
    if isinstance(on, date) and on > today:
        found.append(row.problem("on", f"a day not after today ({today.isoformat()})"))
    system = str(row.values["system"])
    spelled = names.systems.get(name_key(system), system)
    if spelled != system:
        found.append(row.problem("system", f"one spelling throughout: “{spelled}”"))
    return found


def _record(row: Row, names: Names, today: date) -> SpotRecord:
    values: dict[str, Any] = dict(row.values)
    values["system"] = names.systems.get(name_key(str(values["system"])), values["system"])
    values["on"] = values.get("on") or today
    return SpotRecord(**values)

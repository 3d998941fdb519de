"""From rows of water and health tables to entries: new ones only, held against stock and reference."""

import difflib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date
from typing import Any, cast

from ramet.domain.events import Entry, HealthKind, HealthRecord, Kind, day_start
from ramet.domain.piece import WaterRecord, name_key
from ramet.domain.problems import Problem
from ramet.formats.cells import written
from ramet.formats.table import Row
from ramet.ledger.queries import Contents
from ramet.reference.facts import Pest
from ramet.reference.tables import Reference


@dataclass(frozen=True, slots=True)
class Names:
    """Pieces and systems by case-blind key, those of the same import among them."""

    pieces: Mapping[str, str]
    systems: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class CheckedRecords:
    """Entries to make, how many rows the ledger has already, and the problems of the others."""

    entries: tuple[Entry, ...]
    known: int
    problems: tuple[Problem, ...]


def check_water(
    rows: Sequence[Row], known: Sequence[WaterRecord], names: Names, today: date, update: bool
) -> CheckedRecords:
    """Hold water readings against the systems in stock and the readings in the ledger."""
    have = {(name_key(record.system), record.on): record for record in known}
    entries: list[Entry] = []
    problems: list[Problem] = []
    same = 0
    for row in rows:
        bad = [
            *_day_problems(row, today),
            *_name_problems(row, "system", names.systems, "a system with stock"),
        ]
        if bad:
            problems += bad
            continue
        record = _water_record(row, names, have)
        key = (name_key(record.system), record.on)
        before = have.get(key)
        if before == record:
            same += 1
            continue
        if before is not None and not update:
            problems += _changed_reading(row, before, record)
            continue
        have[key] = record
        entries.append(_water_entry(record))
    return CheckedRecords(tuple(entries), same, tuple(problems))


def check_health(
    rows: Sequence[Row], contents: Contents, names: Names, reference: Reference, today: date
) -> CheckedRecords:
    """Hold findings, treatments and inspections against the stock and the table of pests."""
    have = set(contents.health)
    entries: list[Entry] = []
    problems: list[Problem] = []
    known = 0
    for row in rows:
        bad = [*_day_problems(row, today), *_health_problems(row, names, reference)]
        if bad:
            problems += bad
            continue
        record = _health_record(row, names)
        if record in have:
            known += 1
            continue
        have.add(record)
        entries.append(_health_entry(record))
    return CheckedRecords(tuple(entries), known, tuple(problems))


def _day_problems(row: Row, today: date) -> list[Problem]:
    on = row.values["on"]
    late = isinstance(on, date) and on > today
    return [row.problem("on", f"a day not after today ({today.isoformat()})")] if late else []


def _name_problems(row: Row, column: str, names: Mapping[str, str], expected: str) -> list[Problem]:
    name = row.values.get(column)
    if name is None or name_key(str(name)) in names:
        return []
    near = difflib.get_close_matches(name_key(str(name)), names, n=1, cutoff=0.5)
    return [row.problem(column, f"{expected}" + (f"; the nearest is “{names[near[0]]}”" if near else ""))]


def _water_record(row: Row, names: Names, have: Mapping[tuple[str, date], WaterRecord]) -> WaterRecord:
    """Return a reading. Columns that the table lacks keep what the ledger has for that day."""
    system = names.systems[name_key(str(row.values["system"]))]
    on = cast("date", row.values["on"])
    before = have.get((name_key(system), on))
    old = {} if before is None else {one.name: getattr(before, one.name) for one in fields(before)}
    values: dict[str, Any] = {**old, **row.values, "system": system}
    return WaterRecord(**values)


def _changed_reading(row: Row, before: WaterRecord, record: WaterRecord) -> list[Problem]:
    return [
        row.problem(
            one.name,
            f"“{written(getattr(before, one.name)) or 'nothing'}” as in the ledger, or --update to change it",
        )
        for one in fields(record)
        if getattr(before, one.name) != getattr(record, one.name)
    ]


def _water_entry(record: WaterRecord) -> Entry:
    values = {one.name: getattr(record, one.name) for one in fields(record)}
    system, on = values.pop("system"), values.pop("on")
    return Entry(Kind.WATER, day_start(on), values, system=system)


def _health_problems(row: Row, names: Names, reference: Reference) -> list[Problem]:
    problems = [
        *_pest_problems(row, reference.pests),
        *_name_problems(row, "piece", names.pieces, "a piece in stock"),
        *_name_problems(row, "system", names.systems, "a system with stock"),
    ]
    if (row.values.get("piece") is None) == (row.values.get("system") is None):
        problems.append(row.problem("piece", "a piece, or a system for all in its water: one of the two"))
    return problems


def _pest_problems(row: Row, pests: Mapping[str, Pest]) -> list[Problem]:
    name = str(row.values["pest"])
    pest = pests.get(name)
    if pest is None:
        return [row.problem("pest", _nearest_pest(name, pests))]
    if row.values["kind"] is HealthKind.CLEARED and pest.generation_d:
        expected = f"treated and clean: the life cycle of {pest.words} is known, so evidence ends its hold"
        return [row.problem("kind", expected)]
    return []


def _nearest_pest(name: str, pests: Collection[str]) -> str:
    near = difflib.get_close_matches(name.lower(), pests, n=1, cutoff=0.4)
    if near:
        return f"a pest of the reference table; the nearest is “{near[0]}”"
    return "a pest of the reference table: " + ", ".join(pests)


def _health_record(row: Row, names: Names) -> HealthRecord:
    piece, system = row.values.get("piece"), row.values.get("system")
    return HealthRecord(
        on=cast("date", row.values["on"]),
        kind=HealthKind(str(row.values["kind"])),
        pest=str(row.values["pest"]),
        piece=None if piece is None else names.pieces[name_key(str(piece))],
        system=None if system is None else names.systems[name_key(str(system))],
        note=None if row.values.get("note") is None else str(row.values["note"]),
    )


def _health_entry(record: HealthRecord) -> Entry:
    kind = Kind.TREATED if record.kind is HealthKind.TREATED else Kind.INSPECTED
    payload = {"result": record.kind.value, "pest": record.pest, "note": record.note}
    return Entry(kind, day_start(record.on), payload, record.piece, record.system)

"""The form of a shipment: its fields filled from a file, and what was typed turned into a file again.

A field that was left as it was shown keeps what the file has, so that "48 in" stays and nothing is rounded.
"""

import re
import tomllib
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from ramet.domain.problems import Problem
from ramet.formats.shipment import Shipment
from ramet.web.formatting import Wording
from ramet.web.forms import FormState, Sent, problem_words
from ramet.web.shipment_fields import LEAVES, LEGS, ROWS, SECTIONS, Entry, Rows

_CLOCK = "%Y-%m-%dT%H:%M"
_STEP = re.compile(r"(\w+)(?:\[(\d+)\])?")


@dataclass(slots=True)
class Typed:
    """What a form came to: the file's table, what is wrong by field, and which row each table came from."""

    data: dict[str, Any]
    errors: dict[str, str] = field(default_factory=dict)
    rows: dict[str, list[int]] = field(default_factory=dict)


def shown_fields(shipment: Shipment | None, say: Wording) -> dict[str, str]:
    """Return the text of every field, by its name: `tank.volume_l`, `request.0.count`."""
    values: dict[str, str] = {}
    zones = _zones_of(shipment, say)
    for section in SECTIONS:
        part = _part(shipment, section.path)
        for entry in section.entries:
            values[_name(*section.path, entry.key)] = _shown(entry, part, say, zones)
    for rows in ROWS:
        for number, row in enumerate(_part(shipment, rows.path) or ()):
            for entry in rows.entries:
                values[_name(*rows.path, str(number), entry.key)] = _shown(entry, row, say, zones)
    leaves = shipment.leg[0].start if shipment else None
    values[LEAVES.key] = _shown_value(LEAVES, leaves, say, zones)
    return values


def typed_shipment(text: str, shipment: Shipment | None, sent: Sent, say: Wording) -> Typed:
    """Return the file that a form amounts to, made from the file it was shown from."""
    typed = Typed(deepcopy(tomllib.loads(text)))
    before = shown_fields(shipment, say)
    reader = _Reader(sent, before, typed, say)
    for section in SECTIONS:
        into = _table(typed.data, section.path)
        for entry in section.entries:
            reader.take(entry, _name(*section.path, entry.key), into)
    for rows in ROWS:
        _take_rows(reader, rows)
    _join_legs(reader)
    return typed


def with_errors(typed: Typed, sent: Sent, problems: Sequence[Problem] = ()) -> FormState:
    """Return the form as it was typed, with each problem beside its field."""
    errors, wrong = dict(typed.errors), []
    for problem in problems:
        name = _field_of(problem.place.column or "", typed)
        if name in sent.fields:
            errors.setdefault(name, f"Expected {problem.expected.replace(' in quotes', '')}.")
        else:
            wrong.append(problem_words(problem))
    return FormState(sent.fields, errors, tuple(wrong), {name: label_of(name) for name in errors})


def label_of(name: str) -> str:
    """Return what a field is called, with its row: `Line 3, How many`."""
    if name == LEAVES.key:
        return LEAVES.label
    path, _, key = name.rpartition(".")
    for section in SECTIONS:
        if path == _name(*section.path):
            return _label(section.title, section.entries, key)
    for rows in ROWS:
        row = re.fullmatch(rf"{_name(*rows.path)}\.(\d+)", path)
        if row:
            return _label(f"{rows.one} {int(row[1]) + 1}", rows.entries, key)
    return name


def row_count(rows: Rows, values: Mapping[str, str]) -> int:
    """Return how many rows a form shows: those that are there and some spare ones."""
    prefix = _name(*rows.path, "")
    there = {int(name[len(prefix) :].split(".")[0]) for name in values if re.match(rf"{prefix}\d+\.", name)}
    filled = [n for n in there if any(values.get(f"{prefix}{n}.{key}", "").strip() for key in rows.names)]
    return max(rows.least, (max(filled) + 1 if filled else 0) + rows.spare)


@dataclass(slots=True)
class _Reader:
    """Takes fields one by one into tables, and notes what cannot be read."""

    sent: Sent
    before: Mapping[str, str]
    typed: Typed
    say: Wording

    def take(self, entry: Entry, name: str, into: dict[str, Any]) -> None:
        """Put what was typed into a field under its key."""
        text = self.sent.get(name)
        if entry.kind == "tick":
            self._take_tick(entry, name, into)
        elif text == self.before.get(name, "").strip():
            return
        elif not text:
            into.pop(entry.key, None)
        else:
            try:
                into[entry.key] = self._read(entry, text)
            except ValueError as error:
                self.typed.errors[name] = f"Expected {error}."

    def _take_tick(self, entry: Entry, name: str, into: dict[str, Any]) -> None:
        on = self.sent.get(name) == "yes"
        if on != (self.before.get(name, entry.usual) == "yes"):
            into[entry.key] = on

    def _read(self, entry: Entry, text: str) -> object:
        if entry.kind == "size":
            return round(self.say.read(entry.quantity, text) / entry.per, 6)
        if entry.kind == "number":
            return self.say.plain(text)
        if entry.kind == "whole":
            if not text.isdigit():
                raise ValueError("a whole number")
            return int(text)
        return self.moment(entry, text) if entry.kind == "moment" else text

    def moment(self, entry: Entry, text: str) -> datetime:
        """Read a day and time on the clock of the sender or the receiver."""
        try:
            there = datetime.strptime(text[:16], _CLOCK)
        except ValueError:
            raise ValueError("a day and a time, such as 2027-01-20T10:00") from None
        return there.replace(tzinfo=self.zone(entry.zone_of)).replace(fold=0)

    def zone(self, party: str) -> ZoneInfo:
        """Return the clock of a party as typed; UTC while it is not a zone."""
        try:
            return ZoneInfo(self.sent.get(f"{party}.zone") or "UTC")
        except (ZoneInfoNotFoundError, ValueError, OSError):
            self.typed.errors[f"{party}.zone"] = "Expected a time zone such as America/Chicago."
            return ZoneInfo("UTC")


def _take_rows(reader: _Reader, rows: Rows) -> None:
    parent = _table(reader.typed.data, rows.path[:-1])
    there = list(parent.get(rows.path[-1], ()))
    kept: list[dict[str, Any]] = []
    came_from: list[int] = []
    for number in range(row_count(rows, reader.sent.fields)):
        name = _name(*rows.path, str(number))
        blank = not any(reader.sent.get(f"{name}.{key}") for key in rows.names)
        if blank or reader.sent.get(f"{name}.remove") == "yes":
            continue
        row = dict(there[number]) if number < len(there) else {}
        for entry in rows.entries:
            reader.take(entry, f"{name}.{entry.key}", row)
        if rows.path == ("request",):
            row.setdefault("id", _line_name(row, [one.get("id") for one in kept]))
        kept.append(row)
        came_from.append(number)
    reader.typed.rows[".".join(rows.path)] = came_from
    parent[rows.path[-1]] = kept
    if not kept and rows.path[:-1]:
        parent.pop(rows.path[-1])


def _join_legs(reader: _Reader) -> None:
    """Let each leg start where the one before it ends, the first when the boxes leave."""
    legs = reader.typed.data[LEGS.path[0]]
    leaves = reader.sent.get(LEAVES.key)
    if not legs:
        return
    if leaves != reader.before.get(LEAVES.key, "") or "start" not in legs[0]:
        try:
            legs[0]["start"] = reader.moment(LEAVES, leaves)
        except ValueError as error:
            reader.typed.errors[LEAVES.key] = f"Expected {error}."
    for earlier, later in pairwise(legs):
        if "end" in earlier:
            later["start"] = earlier["end"]


def _line_name(row: Mapping[str, Any], taken: Sequence[str | None]) -> str:
    stem = str(row.get("strain") or row.get("taxon") or row.get("form") or "line").lower()
    names = [stem, *(f"{stem} {number}" for number in range(2, 300))]
    return next(name for name in names if name not in taken)


def _field_of(column: str, typed: Typed) -> str:
    """Return the field of a key path such as `request[2].count`, whose list items count from 1."""
    parts: list[str] = []
    for key, index in _STEP.findall(column):
        parts.append(key)
        if index:
            rows = typed.rows.get(".".join(parts), [])
            at = int(index) - 1
            parts.append(str(rows[at]) if at < len(rows) else str(at))
    name = ".".join(parts)
    return LEAVES.key if name in ("leg.0.start",) else re.sub(r"^(leg\.\d+)\.start$", r"\1.end", name)


def _zones_of(shipment: Shipment | None, say: Wording) -> dict[str, str]:
    if shipment is None:
        return {"sender": say.preferences.zone, "receiver": say.preferences.zone}
    return {"sender": shipment.sender.zone, "receiver": shipment.receiver.zone}


def _shown(entry: Entry, part: Any, say: Wording, zones: Mapping[str, str]) -> str:
    if part is None:
        return zones["sender"] if entry.key == "zone" else entry.usual
    return _shown_value(entry, getattr(part, entry.key), say, zones)


def _shown_value(entry: Entry, value: Any, say: Wording, zones: Mapping[str, str]) -> str:
    if value is None:
        return ""
    if entry.kind == "tick":
        return "yes" if value else ""
    if entry.kind == "size":
        return say.plain_number(entry.quantity, value * entry.per)
    if entry.kind == "number":
        return f"{value:g}".replace(".", say.locale.decimal)
    if entry.kind == "moment":
        return str(value.astimezone(ZoneInfo(zones[entry.zone_of])).strftime(_CLOCK))
    return str(value)


def _part(shipment: Shipment | None, path: Sequence[str]) -> Any:
    part: Any = shipment
    for key in path:
        part = None if part is None else getattr(part, key)
    return part


def _table(data: dict[str, Any], path: Sequence[str]) -> dict[str, Any]:
    for key in path:
        inner = data.get(key)
        # A party may be written as its name alone.
        data[key] = {"name": inner} if isinstance(inner, str) else inner if isinstance(inner, dict) else {}
        data = data[key]
    return data


def _label(group: str, entries: Sequence[Entry], key: str) -> str:
    return f"{group}, " + next((entry.label for entry in entries if entry.key == key), key)


def _name(*parts: str) -> str:
    return ".".join(parts)

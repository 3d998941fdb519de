"""Every event as a line of JSON: the whole ledger as a file that any program can read."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import fields
from datetime import datetime
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.events import Entry, Event, Kind
from ramet.domain.piece import Piece
from ramet.domain.problems import Place, Problem

_KEYS = frozenset({"seq", "kind", "piece", "system", "at", "payload", "recorded_at", "recorded_by", "batch"})
_TYPES = {one.name: str(one.type) for one in fields(Piece)}
_LONGEST = {"taxon": 120, "note": 4000, "mounted_on": 200, "source": 200, "permit": 200, "promised_to": 200}
_ID = 80


def event_line(event: Event) -> str:
    """Return an event as a line."""
    entry = event.entry
    values = {
        "seq": event.seq,
        "kind": entry.kind,
        "piece": entry.piece,
        "system": entry.system,
        "at": entry.at.isoformat(),
        "payload": entry.payload,
        "recorded_at": event.recorded_at.isoformat(),
        "recorded_by": event.recorded_by,
        "batch": event.batch,
    }
    return json.dumps(values, ensure_ascii=False) + "\n"


def read_event_lines(path: Path) -> Iterator[Event]:
    """Return the events of a file, line by line. Raises BadInput at the first line that is not one."""
    try:
        with path.open(encoding="utf-8") as file:
            number = 0
            for number, line in enumerate(file, start=1):
                yield _event(path, number, line)
            if number == 0:
                raise BadInput([Problem(Place(str(path), 1), None, "at least one event")])
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput([Problem(Place(str(path)), str(error), "a file of events in UTF-8")]) from error


def _event(path: Path, number: int, line: str) -> Event:
    def wrong(column: str | None, value: object, expected: str) -> BadInput:
        text = None if value is None else str(value)[:80]
        return BadInput([Problem(Place(str(path), number, column), text, expected)])

    try:
        values = json.loads(line)
    except ValueError:
        raise wrong(None, line.strip(), "one event in JSON") from None
    if not isinstance(values, dict) or values.keys() != _KEYS:
        raise wrong(None, line.strip(), "an event with the keys " + ", ".join(sorted(_KEYS)))
    if values["seq"] != number or isinstance(values["seq"], bool):
        raise wrong("seq", values["seq"], f"{number}: events are numbered from 1 without gaps")
    if values["kind"] not in set(Kind):
        raise wrong("kind", values["kind"], "one of: " + ", ".join(Kind))
    for name, most in (("piece", _ID), ("system", _ID), ("recorded_by", _ID), ("batch", 120)):
        given = values[name]
        may_lack = name in {"piece", "system"}
        if not (isinstance(given, str) and 0 < len(given) <= most) and not (given is None and may_lack):
            raise wrong(name, given, f"text of at most {most} characters")
    if column := _wrong_in_payload(values["payload"]):
        payload = values["payload"]
        found = payload.get(column) if isinstance(payload, dict) else payload
        raise wrong(column, found, "a value that fits the field")
    moments = [_moment(values[name]) for name in ("at", "recorded_at")]
    if moments[0] is None or moments[1] is None:
        raise wrong("at", values["at"], "a moment with a zone, such as 2027-01-05T00:00:00+00:00")
    entry = Entry(Kind(values["kind"]), moments[0], values["payload"], values["piece"], values["system"])
    return Event(number, entry, moments[1], values["recorded_by"], values["batch"])


def _moment(text: object) -> datetime | None:
    try:
        moment = datetime.fromisoformat(str(text))
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None


def _wrong_in_payload(payload: object) -> str | None:
    """Return the name of a field of a piece whose value cannot be its."""
    if not isinstance(payload, Mapping):
        return "payload"
    return next((name for name, value in payload.items() if name in _TYPES and not _fits(name, value)), None)


def _fits(name: str, value: object) -> bool:
    kind = _TYPES[name]
    if value is None:
        return "None" in kind
    if name == "defaults_used":
        return isinstance(value, list) and all(isinstance(one, str) for one in value)
    if "float" in kind or "int" in kind:
        return isinstance(value, (int, float)) and not isinstance(value, bool)
    return isinstance(value, str) and len(value) <= _LONGEST.get(name, _ID)

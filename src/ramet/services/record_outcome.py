"""Take what was seen of sent pieces into the ledger: from a receiver's result file, or typed in.

Each entry goes in once. The same file again, or an older one of the same device, changes nothing; a later
entry for the same piece and day stands beside the earlier one and is the one that counts.
"""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from ramet.domain.errors import BadInput
from ramet.domain.events import Entry, Kind
from ramet.domain.piece import name_key
from ramet.domain.problems import Place, Problem
from ramet.domain.shipment_key import shipment_key
from ramet.formats.plan import Plan
from ramet.formats.result import BagOpened, Condition, Photo, ResultFile, Seen
from ramet.formats.toml_reader import read_json, read_text
from ramet.ledger import projections
from ramet.ledger.queries import of_batch
from ramet.ledger.store import Ledger, open_ledger
from ramet.services.sending.sent_pieces import States, births, departures

if TYPE_CHECKING:
    from sqlalchemy import Connection

FORMAT = "ramet-result/1"
_JPEG = b"\xff\xd8\xff"
_CLOCK_OFF = timedelta(days=1)
"""A device's clock may run ahead so far; what lies further ahead has not been seen yet."""

KeepPhoto = Callable[[bytes], str]
"""Keeps a photo and returns the hash by which it is found again."""


@dataclass(frozen=True, slots=True)
class ResultReport:
    """What an import of results did."""

    shipment: str
    bags_added: int
    seen_added: int
    known: int
    photos: int
    dead: tuple[str, ...]
    version: int


def read_result(path: Path) -> ResultFile:
    """Read a result file. Raises BadInput with every problem, or with one when it is another kind of file."""
    text = read_text(path)
    if not isinstance(text, str):
        raise BadInput(text)
    found = _format_of(text)
    if found != FORMAT:
        expected = f"a result file, which names itself {FORMAT}; the receiver's page saves one"
        raise BadInput([Problem(Place(str(path), column="format"), found, expected)])
    read = read_json(path, ResultFile)
    if isinstance(read, tuple):
        raise BadInput(read)
    return read


@dataclass(frozen=True, slots=True)
class Noting:
    """Who enters a result, when, from what file, and where photos go."""

    now: datetime
    recorded_by: str
    keep_photo: KeepPhoto
    file: str = "result"


def import_result(ledger: str, result: ResultFile, plan: Plan | None, noting: Noting) -> ResultReport:
    """Enter a result in the ledger. With the plan of the shipment, pieces cut for it need no entry before.

    Raises BadInput when a piece is not known, or was seen in the future; nothing is written then.
    """
    with open_ledger(ledger) as book:
        return _enter(book, result, plan, noting)


def outcome_batch(key: str) -> str:
    """Return the batch under which the results of a shipment are entered."""
    return f"result {key}"


def _enter(book: Ledger, result: ResultFile, plan: Plan | None, noting: Noting) -> ResultReport:
    key = shipment_key(result.shipment, result.due)
    names = tuple(dict.fromkeys(one.piece for one in result.seen))
    proposed = _proposed(key, result, plan)
    new: list[_Noted] = []

    def decide(connection: "Connection", version: int) -> Sequence[Entry]:
        states = _states(connection, names, plan)
        problems = _problems(result, plan, states, noting)
        if problems:
            raise BadInput(problems)
        before = {_content(event.entry) for event in of_batch(connection, outcome_batch(key), Kind.OPENED)}
        new.extend(one for one in proposed if _content(one.entry) not in before)
        for one in new:
            if one.photo is not None:
                noting.keep_photo(one.photo.data)
        return [*_arrivals(key, names, states, plan, new), *(one.entry for one in new)] if new else ()

    written = book.enter(decide, recorded_by=noting.recorded_by, batch=outcome_batch(key), read_version=None)
    return _report(key, new, len(proposed) - len(new), written.version)


@dataclass(frozen=True, slots=True)
class _Noted:
    entry: Entry
    photo: Photo | None


def _states(connection: "Connection", names: Sequence[str], plan: Plan | None) -> States:
    mothers = [one.mother for one in plan.chosen if one.mother] if plan else []
    return projections.states(connection, {name_key(one) for one in (*names, *mothers)})


def _proposed(key: str, result: ResultFile, plan: Plan | None) -> list[_Noted]:
    bags = {name_key(one.bag): one for one in result.bags}
    listed = [_bag_entry(key, one) for one in result.bags]
    for one in result.seen:
        bag = None if plan is None else next((bag for bag in plan.bags if one.piece in bag.pieces), None)
        listed.append(_seen_entry(key, one, None if bag is None else bags.get(name_key(bag.id))))
    return listed


def _bag_entry(key: str, one: BagOpened) -> _Noted:
    said: dict[str, object] = {"shipment": key, "bag": one.bag}
    return _Noted(Entry(Kind.OPENED, one.opened_at, _said(said, one, water_c=one.water_c)), one.photo)


def _seen_entry(key: str, one: Seen, bag: BagOpened | None) -> _Noted:
    said: dict[str, object] = {"shipment": key, "day": one.day, "condition": one.condition.value}
    said |= {"placed": True} if one.placed else {}
    water_c = None if bag is None or one.day else bag.water_c
    return _Noted(Entry(Kind.OPENED, one.seen_at, _said(said, one, water_c=water_c), one.piece), one.photo)


def _said(said: dict[str, object], one: BagOpened | Seen, water_c: float | None) -> dict[str, object]:
    photo = None if one.photo is None else hashlib.sha256(one.photo.data).hexdigest()
    more = {"water_c": water_c, "note": one.note or None, "photo": photo}
    return said | {name: value for name, value in more.items() if value is not None}


def _content(entry: Entry) -> str:
    """What makes an entry the same as one before: all that it says."""
    return json.dumps([entry.piece, entry.at.astimezone(UTC).isoformat(), entry.payload], sort_keys=True)


def _arrivals(
    key: str, names: Sequence[str], states: States, plan: Plan | None, new: Sequence[_Noted]
) -> list[Entry]:
    """What the ledger must know of the pieces before it can take what was seen of them."""
    left_at = plan.shipment.departs if plan else min(one.entry.at for one in new)
    born = births(plan, names, states) if plan else []
    return [*born, *departures(plan, key, names, states, left_at)]


def _problems(result: ResultFile, plan: Plan | None, states: States, noting: Noting) -> list[Problem]:
    planned = {name_key(one.piece) for one in plan.chosen} if plan else set()
    found = []
    for number, one in enumerate(result.seen, start=1):
        if name_key(one.piece) not in states and name_key(one.piece) not in planned:
            expected = "a piece of the ledger, or of the plan that it was sent by"
            found.append(Problem(Place(noting.file, None, f"seen[{number}].piece"), one.piece, expected))
        if one.seen_at > noting.now + _CLOCK_OFF:
            at = one.seen_at.isoformat(timespec="minutes")
            place = Place(noting.file, None, f"seen[{number}].seen_at")
            found.append(Problem(place, at, "a time that has been"))
    photos = [(f"bags[{n}].photo", one.photo) for n, one in enumerate(result.bags, start=1)]
    photos += [(f"seen[{n}].photo", one.photo) for n, one in enumerate(result.seen, start=1)]
    for column, photo in photos:
        if photo is not None and not photo.data.startswith(_JPEG):
            found.append(Problem(Place(noting.file, None, column), "other data", "a JPEG photo"))
    return found


def _report(key: str, new: Sequence[_Noted], known: int, version: int) -> ResultReport:
    seen = [one.entry for one in new if one.entry.piece is not None]
    dead = [one.piece or "" for one in seen if one.payload["condition"] == Condition.DEAD.value]
    photos = sum(one.photo is not None for one in new)
    return ResultReport(key, len(new) - len(seen), len(seen), known, photos, tuple(dead), version)


def _format_of(text: str) -> str | None:
    """Return what a text says of itself, in a few words."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return "text that is no JSON"
    found = data.get("format") if isinstance(data, dict) else None
    return str(found)[:40] if found else "a JSON file that names no format"

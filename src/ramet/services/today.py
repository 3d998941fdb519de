"""What a grower must do now, what is late, and what is unhealthy, on a day."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from pathlib import Path

from sqlalchemy import Connection

from ramet.domain.piece import name_key
from ramet.ledger import day_rows
from ramet.ledger.store import Ledger, open_ledger
from ramet.reference.ranges import TRAITS
from ramet.reference.tables import Reference
from ramet.services.calendar.healing import edge_sealed_on
from ramet.services.health.health_work import Work, health_work
from ramet.services.health.holds import OpenOutbreak, open_outbreaks
from ramet.services.health.holds_now import herd_now
from ramet.services.sending.recorded_plans import RecordedPlan, recorded_plans


class Urgency(StrEnum):
    """How a line of the day stands: overdue, due now, due in the next days, or good to know."""

    LATE = "late"
    NOW = "now"
    SOON = "soon"
    NEWS = "news"


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to do or know. `on` is the day it is due; `pieces` names at most a dozen out of `count`."""

    urgency: Urgency
    kind: str
    text: str
    on: date
    pieces: tuple[str, ...] = ()
    count: int = 0
    system: str | None = None
    shipment: str | None = None
    shipment_key: str | None = None


@dataclass(frozen=True, slots=True)
class Unhealthy:
    """A pest in a body of water: where it was found, how many wait with it, and what ends the hold."""

    pest: str
    words: str
    system: str
    since: date
    found_on: tuple[str, ...]
    contacts: tuple[str, ...]
    ends: str
    earliest: date | None


@dataclass(frozen=True, slots=True)
class Today:
    """The day at a glance: lines by urgency and day, and all that is unhealthy."""

    on: date
    lines: tuple[Line, ...]
    unhealthy: tuple[Unhealthy, ...]
    pieces: int
    held: int
    promised: int

    def of(self, urgency: Urgency) -> tuple[Line, ...]:
        """Return the lines of one urgency."""
        return tuple(line for line in self.lines if line.urgency is urgency)


_ORDER = {urgency: n for n, urgency in enumerate(Urgency)}
_MOST_NAMES = 12


def read_today(ledger: str, reference: Reference, today: date, plan_files: Sequence[Path] = ()) -> Today:
    """Read the day from a ledger and from the plans that it knows, and from `plan_files` beside them.

    Raises BadInput when there is no ledger or a named file is no plan.
    """
    with open_ledger(ledger) as book:
        plans = recorded_plans(ledger, book, today, plan_files)
        return with_tasks(today_in(book, reference, today), plans, reference)


def with_tasks(day: Today, plans: Sequence[RecordedPlan], reference: Reference) -> Today:
    """Return a day with the tasks of plans in it that are not done."""
    tasks = _tasks(plans, day.on, _days(reference, "looking_ahead_d"))
    return replace(day, lines=_in_order([*day.lines, *tasks]))


def today_in(book: Ledger, reference: Reference, today: date) -> Today:
    """Return the day that an open ledger amounts to, without the tasks of plans."""
    ahead = _days(reference, "looking_ahead_d")
    with book.reading() as connection:
        herd = herd_now(connection, reference)
        outbreaks = open_outbreaks(herd, reference, today) if herd.health else ()
        pieces, promised = day_rows.counts(connection)
        lines = [
            *_from_work(health_work(outbreaks, reference, today), today, ahead),
            *_healed(connection, reference, today, ahead),
            *_to_measure(connection, reference, today),
            *_to_inspect(connection, reference, today),
            *_readings(connection, reference, today),
        ]
    return Today(
        on=today,
        lines=_in_order(lines),
        unhealthy=tuple(unhealthy_of(one) for one in outbreaks),
        pieces=pieces,
        held=len({name for one in outbreaks for name, _ in one.pieces}),
        promised=promised,
    )


def _from_work(work: Iterable[Work], today: date, ahead: timedelta) -> Iterator[Line]:
    for one in work:
        if one.due <= today + ahead:
            yield _line(_urgency(one.due, one.late_after, today), one.kind, one.text, one.due, one.pieces)


def _in_order(lines: Iterable[Line]) -> tuple[Line, ...]:
    return tuple(sorted(lines, key=lambda line: (_ORDER[line.urgency], line.on, line.kind, line.text)))


def _tasks(plans: Sequence[RecordedPlan], today: date, ahead: timedelta) -> Iterator[Line]:
    """Tell the tasks that are not done of shipments that are still to go."""
    for one in plans:
        for task in one.plan.tasks:
            starts, latest = task.starts.date(), task.latest_start.date()
            if task.id not in one.done and starts <= today + ahead:
                urgency = _urgency(starts, max(latest, task.ends.date()), today)
                name = one.plan.shipment.name
                yield _line(urgency, task.kind, task.title, starts, task.pieces, None, name, one.key)


def _healed(connection: Connection, reference: Reference, today: date, ahead: timedelta) -> Iterator[Line]:
    """Tell whose edges closed in the last days, or will in the next, by strain and day."""
    closing: dict[tuple[str, date], list[str]] = {}
    longest = timedelta(days=TRAITS["healing_d"].high)
    for wound in day_rows.wounds_since(connection, today - ahead - longest):
        sealed = edge_sealed_on(reference, wound.taxon, wound.form, wound.on)
        if abs(sealed - today) <= ahead:
            closing.setdefault((wound.strain, sealed), []).append(wound.piece)
    for (strain, sealed), found in closing.items():
        verb, names = "closed" if sealed <= today else "close", tuple(sorted(found))
        text = f"Cut edges {verb} on {sealed}: {counted(names)} of {strain} may travel from then on"
        urgency = Urgency.NEWS if sealed <= today else Urgency.SOON
        yield _line(urgency, "healed", text, sealed, names)


def _to_measure(connection: Connection, reference: Reference, today: date) -> Iterator[Line]:
    every = _days(reference, "measure_every_d")
    late_after = timedelta(days=reference.parameter("measure_every_d").band.high)
    for one in day_rows.old_sizes(connection, today - every, _MOST_NAMES):
        names = one.some if one.count <= len(one.some) else ()
        what = counted(names) if names else f"{one.count} pieces"
        text = f"Measure {what} in {one.tank}: the oldest size is of {one.oldest}"
        urgency = _urgency(one.oldest + every, one.oldest + late_after, today)
        yield Line(urgency, "measure", text, one.oldest + every, one.some, one.count, one.system)


def _to_inspect(connection: Connection, reference: Reference, today: date) -> Iterator[Line]:
    """Tell new pieces that nobody has inspected since they came."""
    within = _days(reference, "arrival_inspect_d")
    came = day_rows.newcomers(connection, today - 4 * within, today)
    looks = day_rows.looks_since(connection, today - 4 * within) if came else {}
    new: dict[tuple[str, date], list[str]] = {}
    for one in came:
        days = [looks[key] for key in (name_key(one.piece), name_key(one.system)) if key in looks]
        if not any(day >= one.on for day in days):
            new.setdefault((one.system, one.on), []).append(one.piece)
    for (system, on), names in sorted(new.items()):
        text = f"Inspect {counted(names)} that came into “{system}” on {on}; nobody has recorded a look"
        urgency = _urgency(on, on + within, today)
        yield _line(urgency, "inspect", text, on + within, tuple(sorted(names)), system=system)


def _readings(connection: Connection, reference: Reference, today: date) -> Iterator[Line]:
    every = _days(reference, "water_reading_every_d")
    late_after = timedelta(days=reference.parameter("water_reading_every_d").band.high)
    last = day_rows.last_readings(connection, today)
    for system in day_rows.systems_in_use(connection):
        read = last.get(name_key(system))
        if read is None:
            text = f"Read the water of “{system}”: the ledger has no reading of it"
            yield _line(Urgency.NOW, "water", text, today, system=system)
        elif read + every <= today:
            text = f"Read the water of “{system}”: the last reading is of {read}"
            urgency = _urgency(read + every, read + late_after, today)
            yield _line(urgency, "water", text, read + every, system=system)


def unhealthy_of(one: OpenOutbreak) -> Unhealthy:
    """Return an open outbreak as the page of the day tells it."""
    return Unhealthy(
        pest=one.pest.id,
        words=one.pest.words,
        system=one.system,
        since=one.first,
        found_on=tuple(sorted(name for name, direct in one.pieces if direct)),
        contacts=tuple(sorted(name for name, direct in one.pieces if not direct)),
        ends=one.ends,
        earliest=one.earliest,
    )


def counted(names: Sequence[str]) -> str:
    """Return how many pieces there are, and their names when they are few."""
    if len(names) == 1:
        return names[0]
    named = f" ({', '.join(names)})" if len(names) <= 4 else ""
    return f"{len(names)} pieces{named}"


def _urgency(due: date, late_after: date, today: date) -> Urgency:
    if late_after < today:
        return Urgency.LATE
    return Urgency.NOW if due <= today else Urgency.SOON


def _line(
    urgency: Urgency,
    kind: str,
    text: str,
    on: date,
    pieces: Sequence[str] = (),
    system: str | None = None,
    shipment: str | None = None,
    key: str | None = None,
) -> Line:
    return Line(urgency, kind, text, on, tuple(pieces[:_MOST_NAMES]), len(pieces), system, shipment, key)


def _days(reference: Reference, name: str) -> timedelta:
    return timedelta(days=reference.parameters[name].band.typical)

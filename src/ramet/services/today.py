"""What a grower must do now, what is late, and what is unhealthy, on a day."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from pathlib import Path

from ramet.domain.events import PieceState, Standing
from ramet.domain.piece import Piece, WaterRecord, name_key
from ramet.formats.plan import Plan
from ramet.ledger.queries import Contents, contents
from ramet.ledger.store import open_ledger
from ramet.reference.tables import Reference
from ramet.services.calendar.healing import edge_sealed_on
from ramet.services.health_work import Work, health_work
from ramet.services.holds import OpenOutbreak, herd_of, open_outbreaks
from ramet.services.recorded_plans import recorded_plans


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
        plans = recorded_plans(book, today, plan_files)
        return today_of(contents(book), reference, today, plans)


def today_of(found: Contents, reference: Reference, today: date, plans: Sequence[Plan] = ()) -> Today:
    """Return the day that a ledger's contents and plans amount to."""
    alive = [state for state in found.states.values() if state.standing is Standing.ALIVE]
    herd = herd_of(found)
    outbreaks = open_outbreaks(herd, reference, today)
    ahead = _days(reference, "looking_ahead_d")
    lines = [
        *_from_work(health_work(outbreaks, reference, today), today, ahead),
        *_tasks(plans, today, ahead),
        *_healed(alive, reference, today, ahead),
        *_to_measure(alive, reference, today),
        *_to_inspect(alive, found, reference, today),
        *_readings(alive, found.water, reference, today),
    ]
    return Today(
        on=today,
        lines=tuple(sorted(lines, key=lambda line: (_ORDER[line.urgency], line.on, line.kind, line.text))),
        unhealthy=tuple(unhealthy_of(one) for one in outbreaks),
        pieces=len(alive),
        held=len({name for one in outbreaks for name, _ in one.pieces}),
        promised=sum(1 for state in alive if state.piece.promised_to),
    )


def _from_work(work: Iterable[Work], today: date, ahead: timedelta) -> Iterator[Line]:
    for one in work:
        if one.due <= today + ahead:
            yield _line(_urgency(one.due, one.late_after, today), one.kind, one.text, one.due, one.pieces)


def _tasks(plans: Sequence[Plan], today: date, ahead: timedelta) -> Iterator[Line]:
    """Tell the tasks of shipments that are still to go: those begun or over are late or due now."""
    for plan in plans:
        for task in plan.tasks:
            starts, latest, ends = task.starts.date(), task.latest_start.date(), task.ends.date()
            if ends < today and latest < today and starts < today - ahead:
                continue  # so long ago that it was done, or the shipment shows that it was not
            if starts <= today + ahead:
                urgency = _urgency(starts, max(latest, ends), today)
                yield _line(urgency, task.kind, task.title, starts, task.pieces, shipment=plan.shipment.name)


def _healed(
    alive: Sequence[PieceState], reference: Reference, today: date, ahead: timedelta
) -> Iterator[Line]:
    """Tell whose edges closed in the last days, or will in the next, by strain and day."""
    closing: dict[tuple[str, date], list[Piece]] = {}
    for piece in (state.piece for state in alive):
        if (wound := piece.healing_since) is not None:
            sealed = edge_sealed_on(reference, piece.taxon, piece.form, wound)
            if abs(sealed - today) <= ahead:
                closing.setdefault((piece.strain, sealed), []).append(piece)
    for (strain, sealed), pieces in closing.items():
        verb = "closed" if sealed <= today else "close"
        names = tuple(sorted(piece.piece for piece in pieces))
        text = f"Cut edges {verb} on {sealed}: {counted(names)} of {strain} may travel from then on"
        urgency = Urgency.NEWS if sealed <= today else Urgency.SOON
        yield _line(urgency, "healed", text, sealed, names)


def _to_measure(alive: Sequence[PieceState], reference: Reference, today: date) -> Iterator[Line]:
    every = _days(reference, "measure_every_d")
    late_after = timedelta(days=reference.parameter("measure_every_d").band.high)
    old: dict[tuple[str, str], list[PieceState]] = {}
    for state in alive:
        if state.sized_on is not None and state.sized_on + every <= today:
            old.setdefault((state.piece.system, state.piece.tank), []).append(state)
    for (system, tank), states in sorted(old.items()):
        oldest = min(state.sized_on for state in states if state.sized_on is not None)
        names = tuple(sorted(state.piece.piece for state in states))
        text = f"Measure {counted(names)} in {tank}: the oldest size is of {oldest}"
        urgency = _urgency(oldest + every, oldest + late_after, today)
        yield _line(urgency, "measure", text, oldest + every, names, system=system)


def _to_inspect(
    alive: Sequence[PieceState], found: Contents, reference: Reference, today: date
) -> Iterator[Line]:
    """Tell new pieces that nobody has inspected since they came."""
    within = _days(reference, "arrival_inspect_d")
    seen: dict[str, date] = {}
    for record in found.health:
        for name in (record.piece, record.system):
            if name is not None:
                seen[name_key(name)] = max(record.on, seen.get(name_key(name), record.on))
    new: dict[tuple[str, date], list[str]] = {}
    for piece in (state.piece for state in alive):
        came = piece.acquired_on
        if came is None or piece.parent is not None or not came <= today <= came + 4 * within:
            continue
        looked = [seen[key] for key in (name_key(piece.piece), name_key(piece.system)) if key in seen]
        if not any(day >= came for day in looked):
            new.setdefault((piece.system, came), []).append(piece.piece)
    for (system, came), names in sorted(new.items()):
        text = f"Inspect {counted(names)} that came into “{system}” on {came}; nobody has recorded a look"
        urgency = _urgency(came, came + within, today)
        yield _line(urgency, "inspect", text, came + within, tuple(sorted(names)), system=system)


def _readings(
    alive: Sequence[PieceState], water: Sequence[WaterRecord], reference: Reference, today: date
) -> Iterator[Line]:
    every = _days(reference, "water_reading_every_d")
    late_after = timedelta(days=reference.parameter("water_reading_every_d").band.high)
    systems = {name_key(state.piece.system): state.piece.system for state in alive}
    last: dict[str, date] = {}
    for record in water:
        if record.on <= today:
            key = name_key(record.system)
            last[key] = max(record.on, last.get(key, record.on))
    for key, system in sorted(systems.items()):
        if key not in last:
            text = f"Read the water of “{system}”: the ledger has no reading of it"
            yield _line(Urgency.NOW, "water", text, today, system=system)
        elif last[key] + every <= today:
            text = f"Read the water of “{system}”: the last reading is of {last[key]}"
            urgency = _urgency(last[key] + every, last[key] + late_after, today)
            yield _line(urgency, "water", text, last[key] + every, system=system)


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
) -> Line:
    return Line(urgency, kind, text, on, tuple(pieces[:_MOST_NAMES]), len(pieces), system, shipment)


def _days(reference: Reference, name: str) -> timedelta:
    return timedelta(days=reference.parameters[name].band.typical)

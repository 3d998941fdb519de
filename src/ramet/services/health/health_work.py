"""What an open outbreak asks of a person next: a treatment, an inspection, a reading, or a decision."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ramet.reference.tables import Reference
from ramet.services.health.holds import OpenOutbreak
from ramet.services.health.outbreaks import Evidence, Progress


@dataclass(frozen=True, slots=True)
class Work:
    """One step towards the end of a hold, due on a day and late after another."""

    kind: str
    text: str
    due: date
    late_after: date
    pieces: tuple[str, ...]


def health_work(outbreaks: Sequence[OpenOutbreak], reference: Reference, today: date) -> Iterator[Work]:
    """Return the next step for every piece of every outbreak, those with the same step together."""
    for one in outbreaks:
        yield from _of_outbreak(one, reference, today)


def _of_outbreak(one: OpenOutbreak, reference: Reference, today: date) -> Iterator[Work]:
    within = timedelta(days=reference.parameter("treat_within_d").band.typical)
    names = tuple(sorted(name for name, _ in one.pieces))
    where = f"{one.pest.words}, in “{one.system}” since {one.first}"
    if one.missing is None:
        kind = "water" if one.pest.generation_d else "decide"
        text = f"{'Read the water' if kind == 'water' else 'Decide'} for {where}: {one.ends}"
        yield Work(kind, text, one.last, today, names)
        return
    untreated = tuple(sorted(one.name_of[each.key] for each in one.missing.open_ones if each.treated is None))
    if untreated:
        began = one.missing.arrived_on or one.last
        text = f"Treat {_listed(untreated)}: {where}"
        yield Work("treat", text, began, began + within, untreated)
    yield from _second_treatments(one, one.missing, where)
    yield from _inspections(one, one.missing, reference, where)


def _second_treatments(one: OpenOutbreak, missing: Evidence, where: str) -> Iterator[Work]:
    """Ask for a second treatment where eggs outlive the first: after they hatch, before the new ones lay."""
    if one.pest.treat_again_d is None:
        return
    first, last = one.pest.treat_again_d
    once: dict[date, list[str]] = {}
    for each in missing.open_ones:
        if each.treated is not None and each.treatments == 1:
            once.setdefault(each.treated, []).append(one.name_of[each.key])
    for treated, names in sorted(once.items()):
        text = f"Treat {_listed(sorted(names))} again, {first} to {last} d after the first time: {where}"
        due, late = treated + timedelta(days=first), treated + timedelta(days=last)
        yield Work("treat", text, due, late, tuple(sorted(names)))


def _inspections(one: OpenOutbreak, missing: Evidence, reference: Reference, where: str) -> Iterator[Work]:
    every = timedelta(days=reference.parameter("inspect_every_d").band.typical)
    due: dict[date, list[str]] = {}
    for each in missing.open_ones:
        if each.treated is not None:
            day = _next_look(each, each.treated, missing.days, one.pest.clean_inspections, every)
            due.setdefault(day, []).append(one.name_of[each.key])
    for day, names in sorted(due.items()):
        text = f"Inspect {_listed(sorted(names))}: {where}; the hold can't end before {one.earliest}"
        yield Work("inspect", text, day, day + every, tuple(sorted(names)))


def _next_look(one: Progress, treated: date, days: int, needed: int, every: timedelta) -> date:
    """The next look is a week after the last, but the one that is to end the hold waits for its day."""
    ends = treated + timedelta(days=days)
    if len(one.looks) >= needed - 1:
        return ends
    return min((one.looks[-1] if one.looks else treated) + every, ends)


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(names[:4])
    return shown if len(names) <= 4 else f"{shown} and {len(names) - 4} more"

"""One pest in one body of water: who is exposed, and what evidence there is that it is gone."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from math import ceil

from ramet.domain.events import HealthKind, HealthRecord, PieceState, Standing, Stay
from ramet.domain.piece import WaterRecord, name_key
from ramet.ledger.records import FishRecord, GoodsStay
from ramet.reference.facts import LivesOn, Pest


@dataclass(frozen=True, slots=True)
class Records:
    """Health records of one pest: `by_piece` those of single pieces, `by_system` those of whole waters."""

    by_piece: Mapping[str, Sequence[HealthRecord]]
    by_system: Mapping[str, Sequence[HealthRecord]]


NO_RECORDS = Records({}, {})


@dataclass(frozen=True, slots=True)
class Known:
    """What is known on a day, by case-blind key of the piece and of the system; records by pest."""

    states: Mapping[str, PieceState]
    stays_of: Mapping[str, Sequence[Stay]]
    stays_in: Mapping[str, Sequence[Stay]]
    water: Mapping[str, Sequence[WaterRecord]]
    records: Mapping[str, Records]
    today: date
    q10: float
    fish: Mapping[str, Sequence[FishRecord]]
    goods: Sequence[GoodsStay]
    tool_days: float


@dataclass(frozen=True, slots=True)
class Outbreak:
    """A pest in a system from its first finding on. `found_on` are keys of pieces."""

    pest: Pest
    system: str
    first: date
    last: date
    found_on: frozenset[str]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one piece is: first treatment since the clock began, days of clean inspections after it."""

    key: str
    treated: date | None
    looks: tuple[date, ...]
    treatments: int
    over: bool
    earliest: date


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is still open. `days`: one generation at the coldest reading; `arrival` began the clock again."""

    open_ones: tuple[Progress, ...]
    days: int
    temperature_c: float
    arrival: str | None
    arrived_on: date | None


def exposed(outbreak: Outbreak, known: Known) -> Iterator[tuple[str, bool]]:
    """Return pieces in stock with a finding (True), and the hosts that shared their water since (False)."""
    for stay in known.stays_in.get(outbreak.system, ()):
        key = name_key(stay.piece)
        state = known.states[key]
        if state.standing is not Standing.ALIVE or not overlaps(stay, outbreak.first, known.today):
            continue
        if key in outbreak.found_on:
            yield key, True
        elif is_host(outbreak.pest, state.piece.genus):
            yield key, False


def is_host(pest: Pest, genus: str) -> bool:
    """Tell whether a pest lives on corals of a genus, or travels on any (it lives on fish, or anywhere)."""
    return pest.lives_on is not LivesOn.CORALS or genus.capitalize() in pest.host_genera


def overlaps(stay: Stay, since: date, until: date) -> bool:
    """Tell whether a piece was there on any day from `since` to `until`, both included."""
    return (stay.since is None or stay.since <= until) and (stay.until is None or stay.until >= since)


def missing_evidence(
    outbreak: Outbreak, held: Sequence[str], temperature_c: float, known: Known, by: date
) -> Evidence | None:
    """Return what was still open on a day; None when the outbreak had ended.

    A coral that comes into the water begins the clock again, unless the outbreak had ended before.
    """
    days = ceil(generation_days(outbreak.pest, temperature_c, known.q10) or 0)
    starts = [(outbreak.last, None), *_arrivals(outbreak, known, by), (by + timedelta(days=1), None)]
    progress: list[Progress] = []
    for (start, _), (end, _) in pairwise(starts):
        there = [key for key in held if _came_before(key, outbreak, known, end)]
        progress = [_progress(outbreak, key, known, days, start, end) for key in there]
        if all(one.over for one in progress):
            return None
    arrived_on, arrival = starts[-2]
    open_ones = tuple(one for one in progress if not one.over)
    return Evidence(open_ones, days, temperature_c, arrival, arrived_on if arrival else None)


def cleared_by_word(outbreak: Outbreak, known: Known, by: date) -> bool:
    """Tell whether a person cleared a pest without a known life cycle, on its water or on a piece in it."""
    records = known.records.get(outbreak.pest.id, NO_RECORDS)
    here = {name_key(stay.piece) for stay in known.stays_in.get(outbreak.system, ())}
    said = [
        *records.by_system.get(outbreak.system, ()),
        *(record for key in here & records.by_piece.keys() for record in records.by_piece[key]),
    ]
    return any(one.kind is HealthKind.CLEARED and outbreak.last <= one.on <= by for one in said)


def coldest_c(outbreak: Outbreak, known: Known, by: date) -> float | None:
    """Return the lowest temperature in force at the finding or read since [°C]: cold lengthens a life."""
    here = [one for one in known.water.get(outbreak.system, ()) if one.on <= by]
    before = [one.temperature_c for one in here if one.on <= outbreak.first]
    since = [one.temperature_c for one in here if one.on > outbreak.first]
    return min([*before[-1:], *since], default=None)


def generation_days(pest: Pest, temperature_c: float, q10: float) -> float | None:
    """Return the days of one full generation of a pest at a water temperature; None when unknown.

    Parameters
    ----------
    pest : its `generation_d` holds pairs of temperature [°C] and days.
    temperature_c : the coldest that the water has been [°C].
    q10 : by how much a generation lengthens per 10 °C below the coldest published temperature.

    Notes
    -----
    Linear in days between published temperatures (the chord of a falling convex curve, so rather too long
    than too short); below the coldest `days * q10 ** ((coldest - temperature) / 10)`; never shorter than
    at the warmest.
    """
    points = sorted(pest.generation_d)
    if not points:
        return None
    coldest, days = points[0]
    if temperature_c < coldest:
        return float(days * q10 ** ((coldest - temperature_c) / 10))
    for (low, days_low), (high, days_high) in pairwise(points):
        if temperature_c <= high:
            return days_low + (days_high - days_low) * (temperature_c - low) / (high - low)
    return points[-1][1]


def _arrivals(outbreak: Outbreak, known: Known, by: date) -> list[tuple[date, str | None]]:
    latest: dict[date, str | None] = {}
    for stay in known.stays_in.get(outbreak.system, ()):
        if stay.since is not None and outbreak.last < stay.since <= by:
            latest.setdefault(stay.since, stay.piece)
    return sorted(latest.items())


def _came_before(key: str, outbreak: Outbreak, known: Known, day: date) -> bool:
    return any(
        name_key(stay.system) == outbreak.system and (stay.since is None or stay.since < day)
        for stay in known.stays_of[key]
    )


def _progress(outbreak: Outbreak, key: str, known: Known, days: int, start: date, end: date) -> Progress:
    """Return the evidence on a piece from `start` up to, not including, `end`."""
    records = [one for one in _records_of(outbreak.pest.id, key, known) if start <= one.on < end]
    treatments = {one.on for one in records if one.kind is HealthKind.TREATED}
    treated = min(treatments, default=None)
    if treated is None:
        return Progress(key, None, (), 0, False, known.today + timedelta(days=days))
    until = treated + timedelta(days=days)
    looks = sorted({one.on for one in records if one.kind is HealthKind.CLEAN and one.on > treated})
    enough = len(looks) >= outbreak.pest.clean_inspections and looks[-1] >= until
    return Progress(key, treated, tuple(looks), len(treatments), enough, max(until, known.today))


def _records_of(pest: str, key: str, known: Known) -> Iterator[HealthRecord]:
    """Return what was recorded of a piece: for itself, or for all the water it was in that day."""
    records = known.records.get(pest, NO_RECORDS)
    yield from records.by_piece.get(key, ())
    for stay in known.stays_of.get(key, ()):
        for record in records.by_system.get(name_key(stay.system), ()):
            if overlaps(stay, record.on, record.on):
                yield record

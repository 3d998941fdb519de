"""Which pieces may not leave because of a pest, and what evidence ends that. Time alone ends nothing.

A finding holds the piece it was made on and, as contacts, the hosts of the pest that shared its water
since. The hold of one pest in one body of water ends for all of them together: when each was treated
after the last finding or arrival, and was then seen clean as often as the pest's row asks, the last time
at least one full generation of the pest after the treatment. No dip is known to kill eggs, so eggs laid
on the eve of the treatment must have had the time to become adults that can be seen. What lives on fish is
another matter (see `fish_borne`): there a plain clock without fish is the evidence.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from ramet.domain.events import HealthKind, HealthRecord, PieceState, Stay
from ramet.domain.piece import Hold, WaterRecord, name_key
from ramet.ledger.queries import Contents
from ramet.ledger.records import FishRecord, GoodsStay
from ramet.reference.facts import LivesOn, Pest
from ramet.reference.tables import Reference
from ramet.services.health.fish_borne import fish_words, held_by_fish
from ramet.services.health.outbreaks import (
    Evidence,
    Known,
    Outbreak,
    Records,
    cleared_by_word,
    coldest_c,
    exposed,
    missing_evidence,
    overlaps,
)

_Found = tuple[date, str | None]
"""The day of a finding in some water, and the key of the piece it was made on."""


@dataclass(frozen=True, slots=True)
class Herd:
    """All that bears on holds: the pieces by key, where they were, the water, and the health records."""

    states: Mapping[str, PieceState]
    stays: Sequence[Stay]
    water: Sequence[WaterRecord]
    health: Sequence[HealthRecord]
    fish: Sequence[FishRecord] = ()
    goods: Sequence[GoodsStay] = ()


def herd_of(found: Contents) -> Herd:
    """Return what a ledger's contents say that bears on holds."""
    return Herd(found.states, found.stays, found.water, found.health, found.fish, found.goods)


@dataclass(frozen=True, slots=True)
class OpenOutbreak:
    """An outbreak that goes on: who is held (True: found on it), what is missing, and what would end it."""

    pest: Pest
    system: str
    first: date
    last: date
    pieces: tuple[tuple[str, bool], ...]
    missing: Evidence | None
    ends: str
    earliest: date | None
    name_of: Mapping[str, str]


def holds(herd: Herd, reference: Reference, today: date) -> tuple[Hold, ...]:
    """Return every hold of a piece in stock on a day, in order of piece and pest."""
    return holds_of(open_outbreaks(herd, reference, today))


def holds_of(outbreaks: Sequence[OpenOutbreak]) -> tuple[Hold, ...]:
    """Return the holds that open outbreaks put on pieces, the strictest for each piece and pest."""
    worst: dict[tuple[str, str], Hold] = {}
    for one in outbreaks:
        for piece, direct in one.pieces:
            hold = Hold(piece, one.pest.id, direct, one.first, one.ends, one.earliest)
            key = (piece, one.pest.id)
            if key not in worst or _stricter(hold, worst[key]):
                worst[key] = hold
    return tuple(worst[key] for key in sorted(worst))


def open_outbreaks(herd: Herd, reference: Reference, today: date) -> tuple[OpenOutbreak, ...]:
    """Return the outbreaks that no evidence has ended by a day, in order of pest and water."""
    known = known_on(herd, reference, today)
    found = (open_one(outbreak, known) for outbreak in outbreaks_of(known, reference.pests))
    return tuple(one for one in found if one is not None)


def known_on(herd: Herd, reference: Reference, today: date) -> Known:
    """Return what is known on a day, by pieces and waters."""
    stays_of: dict[str, list[Stay]] = {}
    stays_in: dict[str, list[Stay]] = {}
    for stay in [*herd.stays, *_beside_their_mothers(herd)]:
        stays_of.setdefault(name_key(stay.piece), []).append(stay)
        stays_in.setdefault(name_key(stay.system), []).append(stay)
    water: dict[str, list[WaterRecord]] = {}
    for reading in sorted(herd.water, key=lambda one: one.on):
        if reading.on <= today:
            water.setdefault(name_key(reading.system), []).append(reading)
    fish: dict[str, list[FishRecord]] = {}
    for record in sorted(herd.fish, key=lambda one: one.on):
        if record.on <= today:
            fish.setdefault(name_key(record.system), []).append(record)
    health = [one for one in herd.health if one.on <= today and one.pest in reference.pests]
    q10 = reference.parameter("pest_generation_q10").band.high
    goods = [one for one in herd.goods if one.since is None or one.since <= today]
    tool_days = reference.parameter("tool_carries_d").band.typical
    records = _records(health)
    return Known(herd.states, stays_of, stays_in, water, records, today, q10, fish, goods, tool_days)


def _records(health: Sequence[HealthRecord]) -> dict[str, Records]:
    books: dict[str, tuple[dict[str, list[HealthRecord]], dict[str, list[HealthRecord]]]] = {}
    for record in health:
        of_piece, of_system = books.setdefault(record.pest, ({}, {}))
        if record.piece is not None:
            of_piece.setdefault(name_key(record.piece), []).append(record)
        if record.system is not None:
            of_system.setdefault(name_key(record.system), []).append(record)
    return {pest: Records(of_piece, of_system) for pest, (of_piece, of_system) in books.items()}


def _beside_their_mothers(herd: Herd) -> Iterator[Stay]:
    """A piece shared its mother's water up to the day of the cut, wherever it is now."""
    cut = [state.piece for state in herd.states.values() if state.piece.cut_on and state.piece.parent]
    mothers = {name_key(piece.parent or "") for piece in cut}
    places: dict[str, list[Stay]] = {}
    for stay in herd.stays:
        if (key := name_key(stay.piece)) in mothers:
            places.setdefault(key, []).append(stay)
    for piece in cut:
        for stay in places.get(name_key(piece.parent or ""), ()):
            if piece.cut_on is not None and overlaps(stay, piece.cut_on, piece.cut_on):
                yield Stay(piece.piece, stay.system, None, piece.cut_on)


def outbreaks_of(known: Known, pests: Mapping[str, Pest]) -> Iterator[Outbreak]:
    """Return what is going on: findings by pest and water, those of outbreaks that ended left aside."""
    findings: dict[tuple[str, str], list[_Found]] = {}
    for pest, records in known.records.items():
        for record in _all(records):
            if record.kind is HealthKind.FINDING:
                for system, key in _waters_of(record, known):
                    findings.setdefault((pest, system), []).append((record.on, key))
    _follow_moves(findings, known, pests)
    for (pest, system), found in sorted(findings.items(), key=lambda item: item[0]):
        yield _latest(pests[pest], system, found, known)


def _all(records: Records) -> Iterator[HealthRecord]:
    for book in (records.by_piece, records.by_system):
        for some in book.values():
            yield from some


def _waters_of(record: HealthRecord, known: Known) -> Iterator[tuple[str, str | None]]:
    """Return the waters that a finding concerns on its day, and the piece it was made on."""
    if record.system is not None:
        yield name_key(record.system), None
    if record.piece is not None:
        key = name_key(record.piece)
        for stay in known.stays_of.get(key, ()):
            if overlaps(stay, record.on, record.on):
                yield name_key(stay.system), key


def _follow_moves(
    findings: dict[tuple[str, str], list[_Found]], known: Known, pests: Mapping[str, Pest]
) -> None:
    """A piece with a finding brings its pest into the water it moves to, unless it was cleared before."""
    found_on = {(pest, key) for (pest, _), found in findings.items() for _, key in found if key is not None}
    moves = sorted(
        (after.since, pest, key, name_key(before.system), name_key(after.system))
        for pest, key in found_on
        for before, after in pairwise(known.stays_of[key])
        if after.since is not None and after.since <= known.today
    )
    for on, pest, key, left, entered in moves:
        found = [one for one in findings.get((pest, left), ()) if one[0] < on]
        if any(one[1] == key for one in found):
            outbreak = _latest(pests[pest], left, found, known)
            if key in outbreak.found_on and not is_over(outbreak, known, on):
                findings.setdefault((pest, entered), []).append((on, key))


def _latest(pest: Pest, system: str, found: Sequence[_Found], known: Known) -> Outbreak:
    """Return the outbreak that the last findings belong to: one that had ended before is another."""
    current: list[_Found] = []
    for on, key in sorted(found, key=lambda one: one[0]):
        if current and current[-1][0] < on and is_over(_outbreak(pest, system, current), known, on):
            current = []
        current.append((on, key))
    return _outbreak(pest, system, current)


def _outbreak(pest: Pest, system: str, found: Sequence[_Found]) -> Outbreak:
    keys = frozenset(key for _, key in found if key is not None)
    return Outbreak(pest, system, found[0][0], found[-1][0], keys)


def is_over(outbreak: Outbreak, known: Known, by: date) -> bool:
    """Tell whether evidence had ended an outbreak by a day, for the corals that it held."""
    if outbreak.pest.lives_on is LivesOn.FISH:
        return not any(held_by_fish(outbreak, known, by))
    if not outbreak.pest.generation_d:
        return cleared_by_word(outbreak, known, by)
    temperature = coldest_c(outbreak, known, by)
    held = [key for key, _ in exposed(outbreak, known)]
    return temperature is not None and missing_evidence(outbreak, held, temperature, known, by) is None


def open_one(outbreak: Outbreak, known: Known) -> OpenOutbreak | None:
    """Return an outbreak with what would end it, or None when it holds no coral any more."""
    held = dict(exposed(outbreak, known))
    if not held or is_over(outbreak, known, known.today):
        return None
    if outbreak.pest.lives_on is LivesOn.FISH:
        clocks = held_by_fish(outbreak, known, known.today)
        held = {key: direct for key, direct in held.items() if key in clocks}
        missing, (ends, earliest) = None, fish_words(outbreak, list(clocks.values()), known)
    else:
        missing, ends, earliest = _ends(outbreak, list(held), known)
    return OpenOutbreak(
        outbreak.pest,
        known.stays_in[outbreak.system][0].system,
        outbreak.first,
        outbreak.last,
        tuple((known.states[key].piece.piece, direct) for key, direct in held.items()),
        missing,
        ends,
        earliest,
        {key: known.states[key].piece.piece for key in held},
    )


def _ends(outbreak: Outbreak, held: Sequence[str], known: Known) -> tuple[Evidence | None, str, date | None]:
    """Return what would end an outbreak that is open, in words too, and the first day on which it can."""
    if not outbreak.pest.generation_d:
        return None, "a person's word that it is cleared (no life cycle of this pest is published)", None
    temperature = coldest_c(outbreak, known, known.today)
    if temperature is None:
        system = known.stays_in[outbreak.system][0].system
        return None, f"a temperature reading of “{system}”, then treatment and clean inspections", None
    missing = missing_evidence(outbreak, held, temperature, known, known.today)
    if missing is None:
        raise ValueError("the outbreak has ended")
    earliest = max(one.earliest for one in missing.open_ones)
    return missing, f"{_words(missing, outbreak.pest, known)}; not before {earliest}", earliest


def _words(missing: Evidence, pest: Pest, known: Known) -> str:
    names = [known.states[one.key].piece.piece for one in missing.open_ones]
    untreated = [known.states[one.key].piece.piece for one in missing.open_ones if one.treated is None]
    treatment = f"treatment of {_listed(untreated)}, then " if untreated else ""
    again = (
        f"; begun again when “{missing.arrival}” came in on {missing.arrived_on}" if missing.arrival else ""
    )
    return (
        f"{treatment}{pest.clean_inspections} clean inspections of {_listed(names)}, the last at least "
        f"{missing.days} d after treatment (one generation at {missing.temperature_c:g} °C){again}"
    )


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(sorted(names)[:4])
    return shown if len(names) <= 4 else f"{shown} and {len(names) - 4} more"


def _stricter(one: Hold, other: Hold) -> bool:
    if one.direct != other.direct:
        return one.direct
    return other.earliest is not None and (one.earliest is None or one.earliest > other.earliest)

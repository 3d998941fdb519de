"""Who may have met a pest: backward to where it may have come from, forward to where it may have gone.

From a finding, back over one generation of the pest: the waters in which the piece was, and who came into
them then (where it may have come from); and from then on everything that the pest may have reached through
shared water, moved corals and goods, cuts, and tools or tubs that were not disinfected. A host in such water,
reached through hosts alone, is likely; what only hangs on mounts, goods or tools is possible. Corals that
were sent from such water meanwhile are listed with the people who have them.
"""

import heapq
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from ramet.domain.errors import BadInput
from ramet.domain.events import HealthKind, PieceState, Standing, Stay
from ramet.domain.piece import name_key
from ramet.domain.problems import Place, Problem
from ramet.ledger.queries import contents
from ramet.ledger.records import GoodsStay, Sending, ToolUse, sendings, tool_uses
from ramet.ledger.store import open_ledger
from ramet.reference.facts import Pest
from ramet.reference.tables import Reference
from ramet.services.health.holds import Herd, herd_of, known_on
from ramet.services.health.outbreaks import Known, generation_days, is_host, overlaps

Tools = Mapping[str, Sequence[ToolUse]]
"""Uses by tool, each in the order of the days."""


@dataclass(frozen=True, slots=True)
class Traced:
    """All that bears on contacts: the herd, uses of tools and tubs, and what was sent to whom."""

    herd: Herd
    tools: Sequence[ToolUse] = ()
    sendings: Sequence[Sending] = ()


@dataclass(frozen=True, slots=True)
class Exposure:
    """A water that a pest may have been in from a day on, and by which way. `likely`: by hosts alone."""

    system: str
    since: date
    way: str
    likely: bool


@dataclass(frozen=True, slots=True)
class Contact:
    """A coral that may have met the pest. `gone` tells that it is sent or lost meanwhile."""

    piece: str
    strain: str
    system: str
    since: date
    is_host: bool
    likely: bool
    gone: bool


@dataclass(frozen=True, slots=True)
class SentOut:
    """A coral that was sent while it might have been exposed, and to whom; None: the ledger does not say."""

    piece: str
    on: date
    to: str | None
    shipment: str | None
    is_host: bool
    likely: bool


@dataclass(frozen=True, slots=True)
class Origin:
    """A way by which the pest may have come in before its finding."""

    what: str
    system: str
    on: date
    is_host: bool


@dataclass(frozen=True, slots=True)
class Contacts:
    """The answer. `traced_from` is how far back it looks; `goods` may carry the pest too."""

    pest: str
    words: str
    start: str
    found_on: date
    traced_from: date
    origins: tuple[Origin, ...]
    waters: tuple[Exposure, ...]
    pieces: tuple[Contact, ...]
    goods: tuple[str, ...]
    sent: tuple[SentOut, ...]


def read_contacts(
    ledger: str,
    reference: Reference,
    today: date,
    pest: str,
    *,
    piece: str | None = None,
    system: str | None = None,
    found_on: date | None = None,
) -> Contacts:
    """Read a ledger by path or URL and trace a pest in it (see `contacts_of`)."""
    with open_ledger(ledger) as book:
        herd = herd_of(contents(book))
        with book.reading() as connection:
            traced = Traced(herd, tool_uses(connection), sendings(connection))
    return contacts_of(traced, reference, today, pest, piece=piece, system=system, found_on=found_on)


def contacts_of(
    traced: Traced,
    reference: Reference,
    today: date,
    pest_id: str,
    *,
    piece: str | None = None,
    system: str | None = None,
    found_on: date | None = None,
) -> Contacts:
    """Trace a pest from a piece or a system.

    `found_on` None: its first finding there, or today when there is none. Raises BadInput for a pest, piece
    or system that is not known.
    """
    known = known_on(traced.herd, reference, today)
    pest = reference.pests.get(pest_id)
    problems = _problems(known, pest_id, pest, piece, system, reference)
    if problems or pest is None:
        raise BadInput(problems)
    found = found_on or _first_finding(known, pest, piece, system) or today
    begun = found - timedelta(days=_days_back(pest, reference, known, piece, system))
    starts = _starts(known, piece, system, begun, found)
    tools: dict[str, list[ToolUse]] = {}
    for use in traced.tools:
        tools.setdefault(name_key(use.tool), []).append(use)
    waters = _spread(known, tools, pest, starts)
    return Contacts(
        pest=pest.id,
        words=pest.words,
        start=piece or system or "",
        found_on=found,
        traced_from=begun,
        origins=tuple(_origins(known, tools, pest, starts, found)),
        waters=tuple(sorted(waters.values(), key=lambda one: (one.since, one.system))),
        pieces=tuple(_pieces(known, pest, waters)),
        goods=tuple(_goods(known.goods, waters, today)),
        sent=tuple(_sent(known, pest, waters, traced.sendings)),
    )


def _problems(
    known: Known,
    pest_id: str,
    pest: Pest | None,
    piece: str | None,
    system: str | None,
    reference: Reference,
) -> list[Problem]:
    found = []
    if pest is None:
        expected = "a pest of the reference table: " + ", ".join(reference.pests)
        found.append(Problem(Place("--pest"), pest_id, expected))
    if (piece is None) == (system is None):
        found.append(Problem(Place("contacts"), None, "a piece, or a system: one of the two"))
    if piece is not None and name_key(piece) not in known.states:
        found.append(Problem(Place("piece"), piece, "a piece that the ledger has or had"))
    if system is not None and name_key(system) not in known.stays_in:
        found.append(Problem(Place("--system"), system, "a system that the ledger knows"))
    return found


def _first_finding(known: Known, pest: Pest, piece: str | None, system: str | None) -> date | None:
    records = known.records.get(pest.id)
    if records is None:
        return None
    book = records.by_piece if piece is not None else records.by_system
    key = name_key(piece or system or "")
    found = [one.on for one in book.get(key, ()) if one.kind is HealthKind.FINDING]
    if system is not None:  # a finding on a coral in the water is one in the water
        for other, some in records.by_piece.items():
            found += [
                one.on
                for one in some
                if one.kind is HealthKind.FINDING
                and any(
                    name_key(stay.system) == key and overlaps(stay, one.on, one.on)
                    for stay in known.stays_of.get(other, ())
                )
            ]
    return min(found, default=None)


def _days_back(pest: Pest, reference: Reference, known: Known, piece: str | None, system: str | None) -> int:
    if not pest.generation_d:
        return ceil(reference.parameter("trace_back_d").band.typical)
    systems = [system] if system else [stay.system for stay in known.stays_of.get(name_key(piece or ""), ())]
    read = [one.temperature_c for name in systems for one in known.water.get(name_key(name or ""), ())]
    coldest = min(read, default=min(celsius for celsius, _ in pest.generation_d))
    times = reference.parameter("trace_back_generations").band.typical
    return ceil((generation_days(pest, coldest, known.q10) or 0) * times)


def _starts(
    known: Known, piece: str | None, system: str | None, begun: date, found: date
) -> list[tuple[str, date]]:
    """Return the waters where the pest may have been by the finding, each from its first day."""
    if system is not None:
        return [(name_key(system), begun)]
    stays = known.stays_of.get(name_key(piece or ""), ())
    return [
        (name_key(stay.system), max(begun, stay.since or begun))
        for stay in stays
        if overlaps(stay, begun, found)
    ]


def _spread(
    known: Known, tools: Tools, pest: Pest, starts: Sequence[tuple[str, date]]
) -> dict[str, Exposure]:
    """Return every water that the pest may have reached, by key: the earliest day, the likely way first."""
    queue = [(since, 0, n, system, "the start") for n, (system, since) in enumerate(starts)]
    heapq.heapify(queue)
    found: dict[str, Exposure] = {}
    count = len(queue)
    while queue:
        since, unlikely, _, system, way = heapq.heappop(queue)
        before = found.get(system)
        if before is not None and (before.likely or unlikely):
            continue
        spelled = known.stays_in[system][0].system if known.stays_in.get(system) else system
        first = since if before is None else before.since
        found[system] = Exposure(spelled, first, way, not unlikely)
        for on, to, through, by_host in _ways_out(known, tools, pest, system, since):
            heapq.heappush(queue, (on, max(unlikely, 0 if by_host else 1), count, to, through))
            count += 1
    return found


def _ways_out(
    known: Known, tools: Tools, pest: Pest, system: str, since: date
) -> Iterator[tuple[date, str, str, bool]]:
    """Yield what went from a water into another since a day: when, where to, how, and whether by a host."""
    for stay in known.stays_in.get(system, ()):
        if stay.until is None or stay.until < since or stay.until > known.today:
            continue
        after = _next_stay(known.stays_of[name_key(stay.piece)], stay)
        if after is not None and name_key(after.system) != system:
            host = is_host(pest, known.states[name_key(stay.piece)].piece.genus)
            yield stay.until, name_key(after.system), f"{stay.piece} moved", host
    for stood in known.goods:
        if name_key(stood.system) == system and stood.until is not None and stood.until >= since:
            for other in known.goods:
                if name_key(other.goods) == name_key(stood.goods) and other.since == stood.until:
                    yield stood.until, name_key(other.system), f"{stood.goods} moved", False
    yield from _by_tools(known, tools, system, since)


def _next_stay(stays: Sequence[Stay], stay: Stay) -> Stay | None:
    """Return where a piece went from a water; a cut piece left its mother's for where it has been since."""
    others = [one for one in stays if one is not stay]
    found = [one for one in others if one.since is not None and one.since == stay.until]
    if not found and stay.since is None and stay.until is not None:
        found = [one for one in others if one.since is None and (one.until is None or one.until > stay.until)]
    return found[0] if found else None


def _by_tools(known: Known, tools: Tools, system: str, since: date) -> Iterator[tuple[date, str, str, bool]]:
    """A tool used in one water, then in another within its wet time, and not disinfected between."""
    for uses in tools.values():
        for place, use in enumerate(uses):
            if use.disinfected or use.on < since or system not in _waters_of_use(known, use):
                continue
            for later in _while_wet(uses[place + 1 :], use.on + timedelta(days=ceil(known.tool_days))):
                for to in sorted(_waters_of_use(known, later) - {system}):
                    yield later.on, to, f"{use.tool} used in both", False


def _while_wet(uses: Sequence[ToolUse], until: date) -> Iterator[ToolUse]:
    for use in uses:
        if use.disinfected or use.on > until:
            return
        yield use


def _waters_of_use(known: Known, use: ToolUse) -> set[str]:
    waters = {name_key(use.system)} if use.system is not None else set()
    if use.piece is not None:
        waters |= {
            name_key(stay.system)
            for stay in known.stays_of.get(name_key(use.piece), ())
            if overlaps(stay, use.on, use.on)
        }
    return waters


def _origins(
    known: Known, tools: Tools, pest: Pest, starts: Sequence[tuple[str, date]], found: date
) -> Iterator[Origin]:
    """Yield what came into the waters of the start, from a generation before the finding up to it."""
    for system, since in starts:
        for stay in known.stays_in.get(system, ()):
            if stay.since is not None and since <= stay.since <= found:
                piece = known.states[name_key(stay.piece)].piece
                came = "acquired" if piece.acquired_on == stay.since else "moved in"
                yield Origin(f"{stay.piece} {came}", stay.system, stay.since, is_host(pest, piece.genus))
        for stood in known.goods:
            inside = name_key(stood.system) == system and stood.since is not None
            if inside and stood.since is not None and since <= stood.since <= found:
                yield Origin(f"{stood.goods} put in", stood.system, stood.since, False)
        for uses in tools.values():
            for place, use in enumerate(uses):
                if not use.disinfected and since <= use.on <= found and system in _waters_of_use(known, use):
                    yield from _tool_origins(known, uses[:place], use, system)


def _tool_origins(known: Known, before: Sequence[ToolUse], use: ToolUse, system: str) -> Iterator[Origin]:
    for earlier in reversed(before):
        if earlier.disinfected or earlier.on < use.on - timedelta(days=ceil(known.tool_days)):
            return
        for water in sorted(_waters_of_use(known, earlier) - {system}):
            yield Origin(f"{use.tool} used before in {water}", system, use.on, False)


def _pieces(known: Known, pest: Pest, waters: dict[str, Exposure]) -> Iterator[Contact]:
    first: dict[str, tuple[date, Exposure]] = {}
    for key, exposure in waters.items():
        for stay in known.stays_in.get(key, ()):
            if overlaps(stay, exposure.since, known.today):
                since = max(exposure.since, stay.since or exposure.since)
                name = name_key(stay.piece)
                if name not in first or (since, not exposure.likely) < (
                    first[name][0],
                    not first[name][1].likely,
                ):
                    first[name] = (since, exposure)
    for key, (since, exposure) in sorted(first.items(), key=lambda item: (item[1][0], item[0])):
        state = known.states[key]
        if state.standing is Standing.UNDONE:
            continue
        host = is_host(pest, state.piece.genus)
        yield Contact(
            state.piece.piece,
            state.piece.strain,
            exposure.system,
            since,
            host,
            host and exposure.likely,
            state.standing is not Standing.ALIVE,
        )


def _goods(goods: Sequence[GoodsStay], waters: dict[str, Exposure], today: date) -> Iterator[str]:
    names = {
        stood.goods
        for stood in goods
        for exposure in [waters.get(name_key(stood.system))]
        if exposure is not None and (stood.until or today) >= exposure.since
    }
    yield from sorted(names)


def _sent(
    known: Known, pest: Pest, waters: dict[str, Exposure], sendings: Sequence[Sending]
) -> Iterator[SentOut]:
    exposed = {name_key(one.piece): one for one in _pieces(known, pest, waters)}
    for sending in sorted(sendings, key=lambda one: (one.on, one.piece)):
        contact = exposed.get(name_key(sending.piece))
        state: PieceState | None = known.states.get(name_key(sending.piece))
        if contact is None or state is None or sending.on < contact.since:
            continue
        to = sending.to or state.piece.promised_to
        yield SentOut(sending.piece, sending.on, to, sending.shipment, contact.is_host, contact.likely)

"""What became of the pieces that were sent: by piece and day, and as shares of survivors with their bands."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from ramet.domain.events import Event, Kind
from ramet.domain.piece import name_key
from ramet.formats.result import DAYS, Condition
from ramet.ledger import projections
from ramet.ledger.queries import of_batch
from ramet.ledger.rows import of_kinds
from ramet.ledger.store import open_ledger
from ramet.science.survival import jeffreys_interval_brown2001
from ramet.services.pack_off import packing_batch
from ramet.services.record_outcome import outcome_batch

if TYPE_CHECKING:
    from sqlalchemy import Connection

UNTOLD = "not told"


class Fate(StrEnum):
    """What is known of a piece on a day. `unknown`: not seen since, or never found in its bag."""

    ALIVE = "alive"
    DEAD = "dead"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class SeenOn:
    """What was seen of a piece on one of the days; the latest entry for that day counts."""

    condition: Condition
    at: datetime
    note: str
    photo: str | None
    placed: bool


@dataclass(frozen=True, slots=True)
class PieceOutcome:
    """A piece that was sent: how it travelled, and what was seen of it by day."""

    piece: str
    strain: str
    taxon: str
    shipment: str
    travel: Mapping[str, object]
    seen: Mapping[int, SeenOn]

    def fate(self, day: int) -> Fate:
        """Return what is known of it `day` days after opening."""
        told = {on: seen.condition for on, seen in self.seen.items()}
        if any(on <= day and condition is Condition.DEAD for on, condition in told.items()):
            return Fate.DEAD
        if any(on >= day and condition in (Condition.WELL, Condition.WEAK) for on, condition in told.items()):
            return Fate.ALIVE
        return Fate.UNKNOWN


@dataclass(frozen=True, slots=True)
class Survival:
    """Survivors of one group on a day: a share with its 95 % band, and how many nobody has looked at."""

    group: str
    alive: int
    dead: int
    unknown: int
    low: float
    high: float

    @property
    def watched(self) -> int:
        """How many pieces are known to be alive or dead."""
        return self.alive + self.dead


def _packing(one: PieceOutcome) -> str:
    kind, gas = one.travel.get("bag_type"), one.travel.get("gas")
    return f"{kind}, {gas}" if kind and gas else UNTOLD


def _route(one: PieceOutcome) -> str:
    legs, hours = one.travel.get("route"), one.travel.get("route_h")
    if not isinstance(legs, list) or not isinstance(hours, (int, float)):
        return UNTOLD
    return f"{' > '.join(str(leg) for leg in legs)}, {hours:.0f} h"


GROUPS: Mapping[str, Callable[[PieceOutcome], str]] = {
    "strain": lambda one: one.strain,
    "packing": _packing,
    "route": _route,
    "shipment": lambda one: one.shipment,
}
"""What survivors can be counted by."""


def read_outcomes(ledger: str) -> tuple[PieceOutcome, ...]:
    """Return every piece of which something was seen after it was sent, by shipment and name."""
    with open_ledger(ledger) as book, book.reading() as connection:
        return _named(connection, tuple(of_kinds(connection, Kind.SENT, Kind.OPENED)))


def outcomes_of(ledger: str, shipment: str) -> tuple[PieceOutcome, ...]:
    """Return the pieces of one shipment, named as the ledger keeps it, of which something was seen."""
    with open_ledger(ledger) as book, book.reading() as connection:
        sent = of_batch(connection, packing_batch(shipment), Kind.SENT)
        seen = of_batch(connection, outcome_batch(shipment), Kind.SENT, Kind.OPENED)
        return _named(connection, sent + seen)


def _named(connection: "Connection", events: Sequence[Event]) -> tuple[PieceOutcome, ...]:
    keys = {name_key(event.entry.piece) for event in events if event.entry.piece}
    states = projections.states(connection, keys)
    names = {key: (state.piece.strain, state.piece.taxon) for key, state in states.items()}
    return add_up(events, names)


def add_up(events: Iterable[Event], names: Mapping[str, tuple[str, str]]) -> tuple[PieceOutcome, ...]:
    """Return what sendings and observations come to; `names` gives strain and taxon by `name_key`."""
    travels: dict[tuple[str, str], Mapping[str, object]] = {}
    seen: dict[tuple[str, str], dict[int, SeenOn]] = defaultdict(dict)
    spelled: dict[str, str] = {}
    for event in events:
        piece, said = event.entry.piece, event.entry.payload
        if piece is None or "shipment" not in said:
            continue
        at = (str(said["shipment"]), name_key(piece))
        spelled.setdefault(at[1], piece)
        if event.entry.kind is Kind.SENT:
            travels[at] = said
        elif "day" in said:
            seen[at][int(str(said["day"]))] = _seen(event)
    return tuple(
        PieceOutcome(
            spelled[key], *names.get(key, (UNTOLD, UNTOLD)), shipment, travels.get((shipment, key), {}), days
        )
        for (shipment, key), days in sorted(seen.items())
    )


def survival(outcomes: Sequence[PieceOutcome], day: int, by: str) -> tuple[Survival, ...]:
    """Return the survivors on a day by a name of `GROUPS`, the group with most pieces first."""
    group_of = GROUPS[by]
    groups: dict[str, list[Fate]] = defaultdict(list)
    for one in outcomes:
        groups[group_of(one)].append(one.fate(day))
    listed = [_survival(group, fates) for group, fates in groups.items()]
    return tuple(sorted(listed, key=lambda one: (-one.watched, one.group)))


def survival_of_all(outcomes: Sequence[PieceOutcome], day: int) -> Survival:
    """Return the survivors on a day of all pieces together."""
    return _survival("all", [one.fate(day) for one in outcomes])


def days_seen(outcomes: Sequence[PieceOutcome]) -> tuple[int, ...]:
    """Return the days on which anything was seen at all."""
    return tuple(day for day in DAYS if any(day in one.seen for one in outcomes))


def _survival(group: str, fates: Sequence[Fate]) -> Survival:
    alive, dead = fates.count(Fate.ALIVE), fates.count(Fate.DEAD)
    low, high = jeffreys_interval_brown2001(alive, alive + dead)
    return Survival(group, alive, dead, fates.count(Fate.UNKNOWN), low, high)


def _seen(event: Event) -> SeenOn:
    said = event.entry.payload
    photo = said.get("photo")
    return SeenOn(
        Condition(str(said["condition"])),
        event.entry.at,
        str(said.get("note", "")),
        None if photo is None else str(photo),
        bool(said.get("placed", False)),
    )

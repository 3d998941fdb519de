"""Entries of the ledger: dated, never edited. The state of a piece is what its events add up to."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from enum import StrEnum

from ramet.domain.piece import Piece

Payload = Mapping[str, object]
"""What an event says, in values that JSON can hold."""


class Kind(StrEnum):
    """What happened. `water` is a reading of a system; all others are about a piece, or a whole system."""

    ACQUIRED = "acquired"
    CUT = "cut"
    MOVED = "moved"
    MEASURED = "measured"
    DIPPED = "dipped"
    INSPECTED = "inspected"
    TREATED = "treated"
    RESERVED = "reserved"
    PACKED = "packed"
    SENT = "sent"
    OPENED = "opened"
    PLACED = "placed"
    LOST = "lost"
    CORRECTED = "corrected"
    WATER = "water"


class Standing(StrEnum):
    """Whether a piece is still in stock."""

    ALIVE = "alive"
    SENT = "sent"
    LOST = "lost"


class HealthKind(StrEnum):
    """What a health record says. `cleared` is a person's word, for pests without a known life cycle."""

    FINDING = "finding"
    TREATED = "treated"
    CLEAN = "clean"
    CLEARED = "cleared"


@dataclass(frozen=True, slots=True)
class Entry:
    """Something to be entered. `piece` and `system` say what it is about; `at` is when it happened (UTC)."""

    kind: Kind
    at: datetime
    payload: Payload
    piece: str | None = None
    system: str | None = None

    @property
    def on(self) -> date:
        """The day on which it happened."""
        return self.at.date()


@dataclass(frozen=True, slots=True)
class Event:
    """An entry in the ledger. `seq` counts from 1 without gaps; `batch` names what it came with."""

    seq: int
    entry: Entry
    recorded_at: datetime
    recorded_by: str
    batch: str


@dataclass(frozen=True, slots=True)
class PieceState:
    """A piece as its events leave it. `version` is the number of its last event.

    `arrived_on` is the day on which it came into its present system from elsewhere; None when it has
    always been there as far as is known (a stock list entered for the first time is no arrival).
    """

    piece: Piece
    standing: Standing
    arrived_on: date | None
    version: int


@dataclass(frozen=True, slots=True)
class Stay:
    """A piece in a system's water. `since` None: as far back as is known; `until` None: to this day."""

    piece: str
    system: str
    since: date | None
    until: date | None


@dataclass(frozen=True, slots=True)
class HealthRecord:
    """A finding, treatment or inspection for one pest: of one piece, or of all pieces in one system."""

    on: date
    kind: HealthKind
    pest: str
    piece: str | None = None
    system: str | None = None
    note: str | None = None


def day_start(day: date) -> datetime:
    """Return the moment that stands for a whole day in the ledger: its midnight in UTC."""
    return datetime.combine(day, time(), UTC)

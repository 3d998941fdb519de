"""Entries of the ledger: dated, never edited. The state of a piece is what its events add up to."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from enum import StrEnum

from ramet.domain.piece import Piece

Payload = Mapping[str, object]
"""What an event says, in values that JSON can hold."""


class Kind(StrEnum):
    """What happened. `water` is a reading of a system; `fish`, `goods` and `tool` are about a system too.

    `fish`: whether fish are in a system from now on. `goods`: media, rock or mounts stand in a system
    from now on (or nowhere, when no system is named). `tool`: a tool was used there, or disinfected.
    """

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
    PHOTOGRAPHED = "photographed"
    FISH = "fish"
    GOODS = "goods"
    TOOL = "tool"


OBSERVED = frozenset(
    {
        "sized_on",
        "reduced",
        "method",
        "live_area_cm2",
        "live_area_low_cm2",
        "live_area_high_cm2",
        "buoyant_g",
        "photo",
        "tool",
    }
)
"""What an event about a piece may say beside the piece's own fields; it stays with the event.

`sized_on` is the day the sizes are of, when it is not the day of the event; `reduced` says that a piece is
smaller because something was cut off it, so that its growth is counted afresh.
"""


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
class Baseline:
    """Sizes from which a piece has grown without being cut: the start of its own growth record."""

    on: date
    length_mm: float
    width_mm: float
    heads: int | None


@dataclass(frozen=True, slots=True)
class PieceState:
    """A piece as its events leave it. `version` is the number of its last event.

    `arrived_on` is the day on which it came into its present system from elsewhere; None when it has
    always been there as far as is known (a stock list entered for the first time is no arrival).
    `sized_on` is the day its sizes are of, and `base` the sizes it has grown from since it was last cut.
    """

    piece: Piece
    standing: Standing
    arrived_on: date | None
    version: int
    sized_on: date | None = None
    base: Baseline | None = None


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

"""Entries of the ledger: dated, never edited. The state of a piece is what its events add up to."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from enum import StrEnum

from ramet.domain.piece import Piece

Payload = Mapping[str, object]
"""What an event says, in values that JSON can hold.

Beside a piece's own fields an event may say anything that later readers want: `sized_on` is the day the
sizes are of, when it is not the day of the event; `reduced` says that a piece is smaller because something
was cut off it, so that its growth is counted afresh; `method`, `tool`, `photo`, areas and weights stay with
the event.
"""


class Kind(StrEnum):
    """What happened. `water` is a reading of a system; `fish`, `goods` and `tool` are about a system too.

    `fish`: whether fish are in a system from now on. `goods`: media, rock or mounts stand in a system
    from now on (or nowhere, when no system is named). `tool`: a tool was used there, or disinfected.
    `tank`: how long and wide the floor or the racks of a tank are.
    `spot`: the light and flow of a place from now on. `cut` is entered for the mother (what she gave) and
    for each child (its birth); `undone` takes earlier entries back.
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
    SPLIT = "split"
    FUSED = "fused"
    UNDONE = "undone"
    WATER = "water"
    SPOT = "spot"
    PHOTOGRAPHED = "photographed"
    FISH = "fish"
    GOODS = "goods"
    TOOL = "tool"
    TANK = "tank"


class Standing(StrEnum):
    """Whether a piece is still in stock, and what became of it if not.

    `split`: it was divided, and its parts go on; `fused`: it grew into another piece; `undone`: it was
    entered by mistake, and its id is free again.
    """

    ALIVE = "alive"
    SENT = "sent"
    LOST = "lost"
    SPLIT = "split"
    FUSED = "fused"
    UNDONE = "undone"


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

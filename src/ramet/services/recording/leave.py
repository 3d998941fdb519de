"""What becomes of pieces: lost, promised to somebody, free again, or placed where they were sent."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramet.domain.events import Kind, Standing
from ramet.domain.piece import name_key
from ramet.ledger import lookups, projections
from ramet.ledger.store import Ledger
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import check_day, clean, living

if TYPE_CHECKING:
    from sqlalchemy import Connection

PROMISED = "promised"


@dataclass(frozen=True, slots=True)
class Lost:
    """Pieces that died or went missing, and why as far as is known."""

    pieces: tuple[str, ...]
    why: str | None = None


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a piece that was sent has found its place."""

    pieces: tuple[str, ...]
    where: str


def lose(ledger: Ledger, order: Lost, scribe: Scribe) -> Recorded:
    """Enter a loss. The last piece of a strain is told, since nothing can bring it back."""
    draft = Draft("lost", scribe)

    def decide(connection: "Connection") -> None:
        states = living(connection, draft, "pieces", order.pieces)
        check_day(draft, states)
        names = {state.piece.piece for state in states}
        why = clean(draft, "why", order.why)
        for state in states:
            piece = state.piece
            if piece.promised_to is not None:
                draft.caution("promised", f"{piece.piece} was promised to {piece.promised_to}")
            if set(lookups.alive_of_strain(connection, piece.strain, len(names) + 1)) <= names:
                draft.caution("last_piece", f"strain “{piece.strain}” is lost with {piece.piece}")
            draft.enter(Kind.LOST, {"why": why}, piece.piece)

    return record(ledger, draft, decide)


def reserve(ledger: Ledger, pieces: tuple[str, ...], promised_to: str, scribe: Scribe) -> Recorded:
    """Promise pieces to somebody. One that another was promised needs the word `promised`."""
    draft = Draft("reserve", scribe)

    def decide(connection: "Connection") -> None:
        states = living(connection, draft, "pieces", pieces)
        check_day(draft, states)
        name = clean(draft, "promised_to", promised_to)
        if not promised_to.strip():
            draft.problem("promised_to", None, "whom they are promised to")
        for state in states:
            before = state.piece.promised_to
            if before == name:
                draft.caution("promised", f"{state.piece.piece} was promised to {name} already")
                continue
            if before is not None:
                draft.ask(PROMISED, f"{state.piece.piece} is promised to {before}")
            draft.enter(Kind.RESERVED, {"promised_to": name}, state.piece.piece)

    return record(ledger, draft, decide)


def release(ledger: Ledger, pieces: tuple[str, ...], scribe: Scribe) -> Recorded:
    """Take a promise back: the pieces are free again."""
    draft = Draft("release", scribe)

    def decide(connection: "Connection") -> None:
        states = living(connection, draft, "pieces", pieces)
        check_day(draft, states)
        for state in states:
            if state.piece.promised_to is None:
                draft.problem("pieces", state.piece.piece, "a piece that is promised to somebody")
            draft.enter_all(Kind.RESERVED, {"promised_to": None}, state.piece.piece)

    return record(ledger, draft, decide)


def place(ledger: Ledger, order: Placed, scribe: Scribe) -> Recorded:
    """Enter where pieces that were sent found their place in the receiver's tank."""
    draft = Draft("place", scribe)

    def decide(connection: "Connection") -> None:
        keys = list(dict.fromkeys(name_key(name.strip()) for name in order.pieces))
        found = projections.states(connection, keys)
        spelled = {name_key(name.strip()): name for name in order.pieces}
        where = clean(draft, "where", order.where)
        if not order.where.strip():
            draft.problem("where", None, "where it was placed")
        for key in keys:
            state = found.get(key)
            if state is None or state.standing is not Standing.SENT:
                draft.problem("pieces", spelled[key], "a piece that was sent (a piece in stock is moved)")
                continue
            draft.enter(Kind.PLACED, {"where": where}, state.piece.piece)
        check_day(draft, list(found.values()))

    return record(ledger, draft, decide)

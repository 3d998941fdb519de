"""Move pieces, one or many, to another spot, tank or system."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramet.domain.events import Kind
from ramet.domain.piece import Piece
from ramet.ledger.store import Ledger
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import (
    Where,
    check_day,
    check_moved_before,
    living,
    resolve,
    tell_of_company,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Move:
    """Pieces and where they go. Light and flow are those at the new place, where they were read there."""

    pieces: tuple[str, ...]
    to: Where
    par: float | None = None
    flow_cm_s: float | None = None


def move(ledger: Ledger, order: Move, scribe: Scribe) -> Recorded:
    """Enter a move. A tank that nobody knows needs the word `new-place`.

    Light and flow that were read at the old place do not go along.
    """
    draft = Draft("move", scribe)

    def decide(connection: "Connection") -> None:
        states = living(connection, draft, "pieces", order.pieces)
        if not states:
            return
        check_day(draft, states)
        check_moved_before(connection, draft, states)
        _check_readings(draft, order)
        names = [state.piece.piece for state in states]
        if order.to.spot is not None and len(names) > 1:
            draft.caution("spot_shared", f"{len(names)} pieces share spot “{order.to.spot}”")
        places = {
            (state.piece.system, state.piece.tank): resolve(connection, draft, order.to, state.piece)
            for state in states
        }
        for state in states:
            _enter(draft, state.piece, places[state.piece.system, state.piece.tank], order)
        for where in dict.fromkeys(places.values()):
            tell_of_company(connection, draft, where, names)
        if not draft.entries and not draft.problems and not draft.asks:
            draft.problem("to", None, "a place other than where they are")

    return record(ledger, draft, decide)


def _check_readings(draft: Draft, order: Move) -> None:
    for name, most in (("par", 2500), ("flow_cm_s", 500)):
        value = getattr(order, name)
        if value is not None and not 0 <= value <= most:
            draft.problem(name, value, f"a number from 0 to {most}")


def _enter(draft: Draft, piece: Piece, where: Where, order: Move) -> None:
    new = (where.system, where.tank, where.spot)
    if new == (piece.system, piece.tank, piece.spot):
        return
    readings = {name: getattr(order, name) for name in ("par", "flow_cm_s")}
    changed = {name: value for name, value in readings.items() if value != getattr(piece, name)}
    draft.enter_all(
        Kind.MOVED,
        {"system": where.system, "tank": where.tank, "spot": where.spot, **changed},
        piece.piece,
    )

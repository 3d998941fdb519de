"""Pieces of one strain that grew together go on as one."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramet.domain.events import Kind
from ramet.domain.piece import name_key
from ramet.ledger.store import Ledger
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import NOT_MEASURED, Size, check_day, check_size, living

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Fuse:
    """Pieces that fused `into` one, which keeps its id and takes the size that was measured."""

    pieces: tuple[str, ...]
    into: str
    size: Size = NOT_MEASURED


def fuse(ledger: Ledger, order: Fuse, scribe: Scribe) -> Recorded:
    """Enter a fusion. Only pieces of one strain in one tank fuse: different strains fight."""
    draft = Draft("fuse", scribe)

    def decide(connection: "Connection") -> None:
        survivors = living(connection, draft, "into", [order.into])
        others = living(connection, draft, "pieces", order.pieces)
        if not survivors or not others:
            return
        check_day(draft, [*survivors, *others])
        check_size(draft, "size.", order.size)
        one = survivors[0].piece
        for state in others:
            piece = state.piece
            if name_key(piece.piece) == name_key(one.piece):
                draft.problem("pieces", piece.piece, "pieces other than the one they fused into")
            if name_key(piece.strain) != name_key(one.strain):
                draft.problem(
                    "pieces", piece.piece, f"a piece of strain “{one.strain}”, not “{piece.strain}”"
                )
            if (piece.system, piece.tank) != (one.system, one.tank):
                expected = f"a piece in tank “{one.tank}” beside {one.piece}, not in “{piece.tank}”"
                draft.problem("pieces", piece.piece, expected)
            draft.enter(Kind.FUSED, {"into": one.piece}, piece.piece)
        if order.size.given:
            draft.enter(Kind.MEASURED, {**order.size.given, "method": "ruler", "reduced": True}, one.piece)
        else:
            draft.caution("measure", f"measure {one.piece}: its size is still that before the fusion")

    return record(ledger, draft, decide)

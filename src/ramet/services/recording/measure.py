"""Enter measurements: by ruler, by head count, or by weight under water."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ramet.domain.events import Kind
from ramet.domain.piece import Piece, name_key
from ramet.ledger.store import Ledger
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import NOT_MEASURED, Size, check_day, check_size, living

if TYPE_CHECKING:
    from sqlalchemy import Connection

_JUMP = 2.0
_SHRUNK = 0.8


@dataclass(frozen=True, slots=True)
class Measurement:
    """What was measured of one piece. `buoyant_g` is its weight hung in the system's water [g]."""

    piece: str
    size: Size = NOT_MEASURED
    buoyant_g: float | None = None


def measure(ledger: Ledger, measurements: tuple[Measurement, ...], scribe: Scribe) -> Recorded:
    """Enter measurements of one day. One that is older than what stands goes to the history alone."""
    draft = Draft("measure", scribe)

    def decide(connection: "Connection") -> None:
        states = living(connection, draft, "piece", [one.piece for one in measurements])
        check_day(draft, states)
        by_key = {name_key(state.piece.piece): state for state in states}
        for one in measurements:
            state = by_key.get(name_key(one.piece.strip()))
            check_size(draft, "", one.size)
            if one.buoyant_g is not None and not 0 < one.buoyant_g <= 100_000:
                draft.problem("buoyant_g", one.buoyant_g, "a weight above 0 g")
            if not one.size.given and one.buoyant_g is None:
                draft.problem("length_mm", None, f"a size, heads or a weight of {one.piece}")
            elif state is not None:
                _tell_of_jumps(draft, state.piece, one.size)
                _enter(draft, state.piece, one)
                if state.sized_on is not None and scribe.day < state.sized_on:
                    draft.caution(
                        "older",
                        f"{state.piece.piece} was measured on {state.sized_on.isoformat()}; this older "
                        "measurement goes to its history and its size stays",
                    )

    return record(ledger, draft, decide)


def _enter(draft: Draft, piece: Piece, one: Measurement) -> None:
    if one.size.length_mm is not None:
        method = "ruler"
    elif one.buoyant_g is not None:
        method = "buoyant weight"
    else:
        method = "ruler" if set(one.size.given) - {"heads"} else "heads"
    measured = [name for name in piece.defaults_used if name in one.size.given]
    kept = [name for name in piece.defaults_used if name not in one.size.given]
    payload = {**one.size.given, "buoyant_g": one.buoyant_g, "method": method}
    draft.enter(Kind.MEASURED, payload | ({"defaults_used": kept} if measured else {}), piece.piece)


def _tell_of_jumps(draft: Draft, piece: Piece, size: Size) -> None:
    for name, value in size.given.items():
        before = getattr(piece, name)
        if name in piece.defaults_used or not before:
            continue
        if not _SHRUNK <= value / before <= _JUMP:
            unit = "heads" if name == "heads" else "mm"
            draft.caution(
                "jump",
                f"{piece.piece} had {before:g} {unit} ({name}) before and has {value:g} now; undo this if "
                "it is a slip, enter a cut if something was cut off",
            )

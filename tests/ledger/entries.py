"""Small entries for tests of the ledger."""

from datetime import UTC, date, datetime
from pathlib import Path

from postgresql_server import emptied

from ramet.domain.events import Entry, Kind, day_start
from ramet.domain.piece import Piece
from ramet.domain.words import Form
from ramet.ledger.fold import piece_payload

NOON = datetime(2027, 1, 5, 12, tzinfo=UTC)


def fixed_clock() -> datetime:
    return NOON


def a_piece(name: str, system: str = "north", **more: object) -> Piece:
    given = {"strain": "Ember", "length_mm": 50.0, **more}
    return Piece(
        name,
        taxon="Acropora sp.",
        form=Form.BRANCHING,
        system=system,
        tank="n1",
        width_mm=40.0,
        height_mm=45.0,
        **given,  # type: ignore[arg-type]
    )


def acquired(name: str, system: str = "north", on: date = date(2027, 1, 1), **more: object) -> Entry:
    return Entry(Kind.ACQUIRED, day_start(on), piece_payload(a_piece(name, system, **more)), name)


def happened(kind: Kind, name: str, on: date = date(2027, 1, 2), **payload: object) -> Entry:
    return Entry(kind, day_start(on), payload, name)


def empty(place: str) -> None:
    """Make a place as it was before it held a ledger."""
    if "://" in place:
        emptied(place.split("host=")[1])
    else:
        for suffix in ("", "-wal", "-shm"):
            Path(place + suffix).unlink(missing_ok=True)


def is_ours(name: str | None, kind: str, _: object) -> bool:
    """Tell the tables of the ledger from those that its index of words keeps for itself."""
    own = {"table": "pieces_text", "index": "pieces_by_text"}
    return not (kind in own and str(name).startswith(own[kind]))

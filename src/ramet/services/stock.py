"""What the ledger has in stock on a day, with health holds, for a plan or a page."""

from dataclasses import replace
from datetime import date

from ramet.domain.piece import Piece, StockSnapshot
from ramet.ledger.queries import Contents, contents
from ramet.ledger.snapshot import content_sha256, snapshot
from ramet.ledger.store import open_ledger
from ramet.reference.tables import Reference
from ramet.services.health.holds import herd_of, holds
from ramet.services.health.thing_holds import thing_holds
from ramet.services.history.light_history import by_place, light_of
from ramet.services.importing.stock_rows import trait_defaults

RATES = ("respiration_umol_cm2_h", "calcification_meq_cm2_d", "extension_cm_yr")
"""Traits whose class default is told with the piece."""


def read_stock(ledger: str, reference: Reference, today: date) -> StockSnapshot:
    """Read a ledger by path or URL and let it go again. Raises BadInput when there is none."""
    with open_ledger(ledger) as book:
        return stock_of(contents(book), reference, today)


def stock_of(found: Contents, reference: Reference, today: date) -> StockSnapshot:
    """Return the stock that a ledger's contents amount to on a day."""
    herd = herd_of(found)
    taken = snapshot(found, holds(herd, reference, today), today, thing_holds(herd, reference, today))
    pieces = _with_defaults_told(_with_light_of_their_places(taken.pieces, found, today), reference)
    return replace(
        taken, pieces=pieces, sha256=content_sha256(pieces, taken.holds, taken.water, taken.things)
    )


def _with_light_of_their_places(pieces: tuple[Piece, ...], found: Contents, today: date) -> tuple[Piece, ...]:
    """A piece at which nobody has read the light has that of its spot or tank, where it is on record."""
    places = by_place(found.spots)
    if not places:
        return pieces
    return tuple(
        piece if piece.par is not None else replace(piece, par=light_of(piece, places, today).par)
        for piece in pieces
    )


def _with_defaults_told(pieces: tuple[Piece, ...], reference: Reference) -> tuple[Piece, ...]:
    told: dict[tuple[str, str], tuple[str, ...]] = {}
    for piece in pieces:
        kind = (piece.taxon, piece.form)
        if kind not in told:
            told[kind] = trait_defaults(piece, reference, RATES)
    return tuple(
        replace(piece, defaults_used=(*piece.defaults_used, *told[piece.taxon, piece.form]))
        for piece in pieces
    )

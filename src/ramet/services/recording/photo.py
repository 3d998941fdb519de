"""Link a photo to a piece, and enter the live area that was measured in it."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ramet.domain.events import Kind
from ramet.ledger import lookups
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.photos.area import PhotoArea
from ramet.services.photos.intake import look_at
from ramet.services.photos.store import keep
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import clean, living

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Photo:
    """The bytes of a photo of a piece, the name it came with, and what to say of it."""

    piece: str
    data: bytes
    name: str
    note: str | None = None


def add_photo(ledger: Ledger, folder: Path, order: Photo, reference: Reference, scribe: Scribe) -> Recorded:
    """Keep a photo in the folder of the ledger's photos and link it to a piece, gone or in stock.

    The day is that of the camera, when it told one that can be; else the scribe's. Raises BadInput for a file
    that is no whole photo, or too large.
    """
    draft = Draft("photo", scribe)
    seen = look_at(order.data, order.name, reference)

    def decide(connection: "Connection") -> None:
        state = lookups.state(connection, order.piece.strip())
        if state is None:
            draft.problem("piece", order.piece, "a piece that the ledger has or had")
            return
        said = {
            "photo": keep(folder, order.data, seen, order.name, reference),
            "ending": seen.ending,
            "width_px": seen.width_px,
            "height_px": seen.height_px,
            "taken_on": None if seen.taken_on is None else seen.taken_on.isoformat(),
            "note": clean(draft, "note", order.note, 4000),
        }
        if seen.taken_on is not None and seen.taken_on > scribe.today:
            draft.caution("clock", f"the camera says {seen.taken_on}, which is after today; check its clock")
        draft.enter(Kind.PHOTOGRAPHED, said, state.piece.piece)

    return record(ledger, draft, decide)


def measure_by_photo(
    ledger: Ledger,
    folder: Path,
    order: Photo,
    found: PhotoArea,
    reference: Reference,
    scribe: Scribe,
) -> Recorded:
    """Enter the live area and the sizes from above that a photo gave, linked to the photo."""
    draft = Draft("area", scribe)
    seen = look_at(order.data, order.name, reference)

    def decide(connection: "Connection") -> None:
        for state in living(connection, draft, "piece", [order.piece]):
            photo = keep(folder, order.data, seen, order.name, reference)
            said = {
                "photo": photo,
                "ending": seen.ending,
                "width_px": seen.width_px,
                "height_px": seen.height_px,
                "taken_on": None if seen.taken_on is None else seen.taken_on.isoformat(),
            }
            draft.enter(Kind.PHOTOGRAPHED, said, state.piece.piece)
            kept = [name for name in state.piece.defaults_used if name not in ("length_mm", "width_mm")]
            draft.enter(
                Kind.MEASURED,
                {
                    "length_mm": round(found.length_mm, 1),
                    "width_mm": round(found.width_mm, 1),
                    "live_area_cm2": round(found.area_cm2.typical, 2),
                    "live_area_low_cm2": round(found.area_cm2.low, 2),
                    "live_area_high_cm2": round(found.area_cm2.high, 2),
                    "method": "photo",
                    "photo": photo,
                    "defaults_used": kept,
                },
                state.piece.piece,
            )

    return record(ledger, draft, decide)

"""Which photos a piece has, and copies of all photos for other eyes."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from ramet.domain.events import Event, Kind
from ramet.ledger import queries
from ramet.ledger.rows import of_kinds
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.photos.store import photo_path, thumb_path
from ramet.services.photos.without_place import without_place


@dataclass(frozen=True, slots=True)
class PiecePhoto:
    """A photo of a piece: when it was taken, or entered when the camera did not say, and its files."""

    piece: str
    sha256: str
    on: date
    path: Path
    thumbnail: Path
    width_px: int
    height_px: int
    note: str | None


def photos_of(book: Ledger, folder: Path, piece: str) -> tuple[PiecePhoto, ...]:
    """Return the photos of a piece, the latest first."""
    events = queries.history(book, piece)
    found = [_photo(event, folder) for event in events if event.entry.kind is Kind.PHOTOGRAPHED]
    return tuple(sorted(found, key=lambda one: one.on, reverse=True))


def export_photos(book: Ledger, folder: Path, into: Path, reference: Reference) -> tuple[Path, ...]:
    """Write a copy of every photo that the ledger names, without place and device, and return their paths.

    A photo that is missing from the folder is passed over; its entry stays.
    """
    with book.reading() as connection:
        photos = [_photo(event, folder) for event in of_kinds(connection, Kind.PHOTOGRAPHED)]
    written = []
    for photo in {one.sha256: one for one in photos if one.path.is_file()}.values():
        copy, ending = without_place(photo.path.read_bytes(), photo.path.name, reference)
        into.mkdir(parents=True, exist_ok=True)
        path = into / f"{photo.sha256}.{ending}"
        path.write_bytes(copy)
        written.append(path)
    return tuple(written)


def _photo(event: Event, folder: Path) -> PiecePhoto:
    said: dict[str, Any] = dict(event.entry.payload)
    sha256 = said["photo"]
    return PiecePhoto(
        piece=event.entry.piece or "",
        sha256=sha256,
        on=event.entry.on if said.get("taken_on") is None else date.fromisoformat(said["taken_on"]),
        path=photo_path(folder, sha256, said["ending"]),
        thumbnail=thumb_path(folder, sha256),
        width_px=said["width_px"],
        height_px=said["height_px"],
        note=said.get("note"),
    )

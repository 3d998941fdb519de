"""Photos of packing and opening, small and upright, kept with the ledger's other photos under their hash."""

import hashlib
import io
from pathlib import Path

from ramet.reference.tables import Reference
from ramet.services.beside import write_whole
from ramet.services.photos.intake import picture_of
from ramet.services.photos.store import photo_path

LONGEST_PX = 1600
ENDING = "jpg"


def keep_photo(folder: Path, jpeg: bytes) -> str:
    """Keep a JPEG photo and return its hash; one that is there already is not written again."""
    sha256 = hashlib.sha256(jpeg).hexdigest()
    path = photo_path(folder, sha256, ENDING)
    if not path.exists():
        write_whole(path, jpeg)
    return sha256


def small_photo(data: bytes, name: str, reference: Reference) -> bytes:
    """Return an uploaded photo as a small upright JPEG, without anything that the camera wrote into it.

    Raises BadInput when it is no photo, too large, or cut short.
    """
    picture = picture_of(data, name, reference)
    picture.thumbnail((LONGEST_PX, LONGEST_PX))
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=82)
    return stream.getvalue()

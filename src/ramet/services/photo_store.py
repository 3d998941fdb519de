"""Photos of packing and opening, kept beside the ledger under the hash of their bytes."""

import hashlib
import io
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.domain.problems import Place, Problem
from ramet.services.beside import files_beside, write_whole

LONGEST_PX = 1600
MOST_PX = 100_000_000
_TAKEN_AT = 36867
"""The EXIF tag of the moment at which a photo was taken."""


@dataclass(frozen=True, slots=True)
class ReadyPhoto:
    """A photo made small and upright, without the place where it was taken; and its own clock's word."""

    jpeg: bytes
    taken_at: datetime | None


def photos_beside(ledger: str) -> Path:
    """Return the folder of photos that goes with a ledger."""
    return files_beside(ledger) / "photos"


def keep_photo(folder: Path, jpeg: bytes) -> str:
    """Keep a photo and return its hash; one that is there already is not written again."""
    sha256 = hashlib.sha256(jpeg).hexdigest()
    path = folder / f"{sha256}.jpg"
    if not path.exists():
        write_whole(path, jpeg)
    return sha256


def ready_photo(data: bytes, field: str) -> ReadyPhoto:
    """Make an uploaded photo fit to be kept. Raises BadInput when it is no photo, or far too large."""
    try:
        from PIL import Image, ImageOps
    except ModuleNotFoundError as error:
        raise BrokenEnvironment("photos need the package's extra “photos” (Pillow)") from error
    place = Place("photo", column=field)
    try:
        with Image.open(io.BytesIO(data)) as image:
            if image.width * image.height > MOST_PX:
                size = f"{image.width} × {image.height} pixels"
                raise BadInput([Problem(place, size, "a photo of at most 100 megapixels")])
            taken_at = _taken_at(image.getexif().get_ifd(0x8769).get(_TAKEN_AT))
            image.draft("RGB", (LONGEST_PX, LONGEST_PX))
            upright = ImageOps.exif_transpose(image).convert("RGB")
            upright.thumbnail((LONGEST_PX, LONGEST_PX))
            stream = io.BytesIO()
            upright.save(stream, "JPEG", quality=82)
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        raise BadInput(
            [Problem(place, "a file that is no whole photo", "a JPEG, PNG or WebP photo")]
        ) from error
    return ReadyPhoto(stream.getvalue(), taken_at)


def _taken_at(text: object) -> datetime | None:
    """Read the camera's moment, which names no zone."""
    try:
        return datetime.strptime(str(text), "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None

"""Look at a photo before it is taken in: how large it is, whether it is whole, and when it was taken."""

import io
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.reference.tables import Reference
from ramet.services.photos.extra import pillow

ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp", "HEIF": "heic", "MPO": "jpg"}
"""By format; MPO is a JPEG with more pictures behind the first."""
_FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
_EXIF_PART, _TAKEN, _FOCAL_35 = 0x8769, 0x9003, 0xA405


@dataclass(frozen=True, slots=True)
class SeenPhoto:
    """What the file says of itself. `focal_35_mm` is the lens in terms of a 36 mm wide frame, if told."""

    format: str
    ending: str
    width_px: int
    height_px: int
    taken_on: date | None
    focal_35_mm: float | None


def look_at(data: bytes, name: str, reference: Reference) -> SeenPhoto:
    """Return what a photo is, its size checked before anything of it is decoded, then decoded whole.

    Raises BadInput when it is no photo, too large, or cut short.
    """
    _check_bytes(data, name, reference)
    with _opened(data, name, reference) as image:
        seen = _seen(image)
        _decode(image, name)
        return seen


def picture_of(data: bytes, name: str, reference: Reference) -> Any:
    """Return the decoded photo, upright, in red, green and blue (a Pillow image)."""
    from PIL import ImageOps

    _check_bytes(data, name, reference)
    with _opened(data, name, reference) as image:
        _decode(image, name)
        return ImageOps.exif_transpose(image).convert("RGB")


def _check_bytes(data: bytes, name: str, reference: Reference) -> None:
    most = reference.parameter("photo_most_mb").band.typical
    if not data:
        raise BadInput([Problem(Place(name), None, "a photo; the file is empty")])
    if len(data) > most * 1e6:
        found = f"{len(data) / 1e6:.0f} MB"
        raise BadInput([Problem(Place(name), found, f"a photo file of at most {most:.0f} MB")])


def _opened(data: bytes, name: str, reference: Reference) -> Any:
    """Open a photo without decoding it, and refuse it by its size alone."""
    module = pillow()
    most = reference.parameter("photo_most_megapixels").band.typical
    limit, module.MAX_IMAGE_PIXELS = module.MAX_IMAGE_PIXELS, None  # the limit here is our own
    try:
        image = module.open(io.BytesIO(data), formats=_FORMATS)
    except (OSError, SyntaxError, ValueError) as error:
        expected = "a JPEG, PNG, WebP or HEIC photo; this file is none, or its beginning is broken"
        raise BadInput([Problem(Place(name), None, expected)]) from error
    finally:
        module.MAX_IMAGE_PIXELS = limit
    if image.width * image.height > most * 1e6:
        found = f"{image.width} × {image.height} pixels"
        raise BadInput([Problem(Place(name), found, f"a photo of at most {most:.0f} megapixels")])
    return image


def _decode(image: Any, name: str) -> None:
    try:
        image.load()
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        expected = f"a whole photo; this one is cut short or damaged ({error})"
        raise BadInput([Problem(Place(name), None, expected)]) from error


def _seen(image: Any) -> SeenPhoto:
    exif = image.getexif().get_ifd(_EXIF_PART)
    turned = image.getexif().get(0x0112, 1) in (5, 6, 7, 8)
    size = (image.height, image.width) if turned else (image.width, image.height)
    return SeenPhoto(image.format, ENDINGS[image.format], *size, _day(exif.get(_TAKEN)), _focal(exif))


def _day(text: object) -> date | None:
    try:
        return datetime.strptime(str(text)[:10], "%Y:%m:%d").date()
    except ValueError:
        return None


def _focal(exif: dict[int, Any]) -> float | None:
    try:
        focal = float(exif[_FOCAL_35])
    except (KeyError, TypeError, ValueError):
        return None
    return focal if 5 < focal < 500 else None

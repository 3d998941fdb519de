"""A copy of a photo for other eyes: the picture, how it is turned and when it was taken, and nothing else.

What a camera writes into a file (where it stood, whose it is, what it is) stays at home.
"""

import io

from ramet.reference.tables import Reference
from ramet.services.photos.extra import pillow
from ramet.services.photos.intake import ENDINGS, look_at, picture_of

_ORIENTATION, _EXIF_PART, _TAKEN = 0x0112, 0x8769, 0x9003
_SCAN = 0xDA
_KEPT_APPS = frozenset({0xE0, 0xEE})
"""JFIF, and Adobe's word on how the colours are meant; every other application segment goes."""


def without_place(data: bytes, name: str, reference: Reference) -> tuple[bytes, str]:
    """Return a copy without place, names and device, and its file ending.

    A JPEG keeps its very pixels: only its segments of remarks go. PNG is written anew without loss; other
    formats become a JPEG of high quality.
    """
    seen = look_at(data, name, reference)
    if ENDINGS[seen.format] == "jpg":
        return _jpeg_without_remarks(data, _small_exif(data)), "jpg"
    picture = picture_of(data, name, reference)
    stream = io.BytesIO()
    if seen.format == "PNG":
        picture.save(stream, "PNG")
        return stream.getvalue(), "png"
    picture.save(stream, "JPEG", quality=92, exif=_small_exif(data, turned=False))
    return stream.getvalue(), "jpg"


def _small_exif(data: bytes, *, turned: bool = True) -> bytes:
    """Return remarks that hold the turn of the picture and the moment it was taken, no more."""
    module = pillow()
    with module.open(io.BytesIO(data)) as image:
        old = image.getexif()
    new = module.Exif()
    if turned and _ORIENTATION in old:
        new[_ORIENTATION] = old[_ORIENTATION]
    taken = old.get_ifd(_EXIF_PART).get(_TAKEN)
    if taken:
        new.get_ifd(_EXIF_PART)[_TAKEN] = taken
    found: bytes = new.tobytes()
    return found


def _jpeg_without_remarks(data: bytes, exif: bytes) -> bytes:
    """Copy a JPEG segment by segment, without application segments and comments, with small remarks."""
    kept = [data[:2], _segment(0xE1, exif)]
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] != _SCAN:
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        is_remark = (0xE0 <= marker <= 0xEF and marker not in _KEPT_APPS) or marker == 0xFE
        if not is_remark:
            kept.append(data[at : at + 2 + length])
        at += 2 + length
    end = _end_of_picture(data, at)
    return b"".join([*kept, data[at:end]])


def _end_of_picture(data: bytes, at: int) -> int:
    """Return the end of the first picture: phones append others, and films, behind it."""
    found = data.find(b"\xff\xd9", at)
    return len(data) if found < 0 else found + 2


def _segment(marker: int, content: bytes) -> bytes:
    return bytes((0xFF, marker)) + (len(content) + 2).to_bytes(2, "big") + content

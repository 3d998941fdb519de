"""Where photos lie: beside the ledger, under the hash of their bytes; each with a small picture for lists."""

import hashlib
import io
import os
import tempfile
from pathlib import Path

from ramet.ledger import dialect
from ramet.reference.tables import Reference
from ramet.services.photos.intake import SeenPhoto, picture_of

_TEMPORARY = ".part"


def photo_folder(ledger: str) -> Path:
    """Return the folder of a ledger's photos: `<stem>-photos` beside its file; for a server: here."""
    path = dialect.file_of(dialect.database_url(ledger))
    return Path("ramet-photos") if path is None else path.with_name(f"{path.stem}-photos")


def photo_path(folder: Path, sha256: str, ending: str) -> Path:
    """Return where a photo of this hash lies."""
    return folder / sha256[:2] / f"{sha256}.{ending}"


def thumb_path(folder: Path, sha256: str) -> Path:
    """Return where its small picture lies."""
    return folder / sha256[:2] / f"{sha256}.thumb.jpg"


def keep(folder: Path, data: bytes, seen: SeenPhoto, name: str, reference: Reference) -> str:
    """Keep a photo as it is, with a thumbnail, and return its hash. The same photo twice is kept once.

    Files come whole or not at all; one that no entry of the ledger names harms nothing.
    """
    sha256 = hashlib.sha256(data).hexdigest()
    path, thumb = photo_path(folder, sha256, seen.ending), thumb_path(folder, sha256)
    if not thumb.exists():
        _write(thumb, thumbnail(data, name, reference))
    if not path.exists():
        _write(path, data)
    return sha256


def thumbnail(data: bytes, name: str, reference: Reference) -> bytes:
    """Return a small upright JPEG of a photo, without anything that the camera wrote into it."""
    side = int(reference.parameter("photo_thumb_px").band.typical)
    picture = picture_of(data, name, reference)
    picture.thumbnail((side, side))
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=80)
    return stream.getvalue()


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent, suffix=_TEMPORARY)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise

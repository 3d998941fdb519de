"""Photos are kept by their hash, looked at before they are decoded, and handed on without their place."""

import hashlib
import io
import struct
import sys
import zlib
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.domain.events import Kind
from ramet.ledger import open_ledger
from ramet.ledger.queries import history
from ramet.reference.tables import Reference, load_reference
from ramet.services.import_stock import import_files
from ramet.services.photos.area import AreaOrder, measure_area
from ramet.services.photos.intake import look_at
from ramet.services.photos.of_pieces import export_photos, photos_of
from ramet.services.photos.store import photo_folder, thumb_path
from ramet.services.photos.without_place import without_place
from ramet.services.recording.photo import Photo, add_photo
from ramet.services.recording.recorded import Scribe

TODAY = date(2027, 3, 1)
STOCK = "piece,strain,taxon,system,tank,length_mm\nE1,Ember,Acropora sp.,north,N1,40\n"
GPS, EXIF_PART, TAKEN, MODEL, ORIENTATION = 0x8825, 0x8769, 0x9003, 0x0110, 0x0112


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


@pytest.fixture
def place(tmp_path: Path, reference: Reference) -> str:
    (tmp_path / "stock.csv").write_text(STOCK)
    import_files(str(tmp_path / "reef.db"), [tmp_path / "stock.csv"], reference, TODAY)
    return str(tmp_path / "reef.db")


def exif() -> Image.Exif:
    """What a phone writes: where it stood, what it is, how it was held and when."""
    found = Image.Exif()
    found[MODEL], found[ORIENTATION] = "Phone 9", 6
    found.get_ifd(EXIF_PART)[TAKEN] = "2027:02:25 08:30:00"
    found.get_ifd(GPS)[1], found.get_ifd(GPS)[2] = "N", (46.0, 47.0, 12.0)
    return found


def picture(side: int = 600) -> Image.Image:
    rows = np.indices((side, side * 4 // 3)).sum(axis=0) % 256
    return Image.fromarray(np.dstack([rows, rows[::-1], np.full_like(rows, 90)]).astype(np.uint8))


def encoded(format: str, **more: object) -> bytes:
    if format == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    stream = io.BytesIO()
    picture().save(stream, format, exif=exif(), **more)
    return stream.getvalue()


def png_of(width: int, height: int) -> bytes:
    """The head of a PNG that claims a size, and next to nothing behind it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )


def add(place: str, data: bytes, reference: Reference, piece: str = "e1") -> None:
    with open_ledger(place) as book:
        order = Photo(piece, data, "IMG.jpg", "bite marks")
        recorded = add_photo(book, photo_folder(place), order, reference, Scribe("me", TODAY))
    assert recorded.done, recorded.problems


def test_a_photo_lies_under_its_hash_beside_the_ledger(place: str, reference: Reference) -> None:
    data = encoded("JPEG")
    add(place, data, reference)
    sha256 = hashlib.sha256(data).hexdigest()
    path = Path(place).with_name("reef-photos") / sha256[:2] / f"{sha256}.jpg"
    assert path.read_bytes() == data
    (event,) = (one for one in _history(place) if one.entry.kind is Kind.PHOTOGRAPHED)
    assert event.entry.payload["photo"] == sha256
    assert (event.entry.payload["width_px"], event.entry.payload["height_px"]) == (600, 800)


def test_the_day_is_the_cameras(place: str, reference: Reference) -> None:
    add(place, encoded("JPEG"), reference)
    with open_ledger(place) as book:
        (photo,) = photos_of(book, photo_folder(place), "E1")
    assert (photo.on, photo.note) == (date(2027, 2, 25), "bite marks")


def test_a_thumbnail_is_small_upright_and_says_nothing(place: str, reference: Reference) -> None:
    data = encoded("JPEG")
    add(place, data, reference)
    with Image.open(thumb_path(photo_folder(place), hashlib.sha256(data).hexdigest())) as thumb:
        assert thumb.size == (240, 320)
        assert dict(thumb.getexif()) == {}


def test_the_same_photo_twice_is_kept_once(place: str, reference: Reference) -> None:
    for _ in range(2):
        add(place, encoded("JPEG"), reference)
    assert len([path for path in photo_folder(place).rglob("*") if path.is_file()]) == 2


@pytest.mark.parametrize(("format", "ending"), [("PNG", "png"), ("WEBP", "webp"), ("HEIF", "heic")])
def test_other_formats_are_taken_too(place: str, reference: Reference, format: str, ending: str) -> None:
    add(place, encoded(format), reference)
    assert len(list(photo_folder(place).rglob(f"*.{ending}"))) == 1


@pytest.mark.parametrize("format", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_copy_for_others_has_no_place_and_no_device(reference: Reference, format: str) -> None:
    copy, ending = without_place(encoded(format), "p", reference)
    assert ending in {"jpg", "png"}
    assert b"Phone 9" not in copy
    with Image.open(io.BytesIO(copy)) as image:
        assert image.getexif().get_ifd(GPS) == {}
        assert MODEL not in image.getexif()
        if ending == "jpg":
            assert image.getexif().get_ifd(EXIF_PART)[TAKEN] == "2027:02:25 08:30:00"


def test_the_copy_of_a_jpeg_has_the_very_same_pixels(reference: Reference) -> None:
    data = encoded("JPEG", quality=90, comment=b"made at home", progressive=True)
    copy, _ = without_place(data, "p", reference)
    assert b"made at home" not in copy
    with Image.open(io.BytesIO(data)) as before, Image.open(io.BytesIO(copy)) as after:
        assert np.array_equal(np.asarray(before), np.asarray(after))
        assert after.getexif()[ORIENTATION] == 6


def test_exported_photos_are_copies_without_place(place: str, reference: Reference, tmp_path: Path) -> None:
    data = encoded("JPEG")
    add(place, data, reference)
    with open_ledger(place) as book:
        (path,) = export_photos(book, photo_folder(place), tmp_path / "out", reference)
    assert path.name == f"{hashlib.sha256(data).hexdigest()}.jpg"
    assert b"Phone 9" not in path.read_bytes()


def test_a_photo_of_more_pixels_than_any_phone_takes_is_refused_before_it_is_decoded(
    reference: Reference,
) -> None:
    with pytest.raises(BadInput, match=r"12000 × 9000 pixels.*at most 80 megapixels"):
        look_at(png_of(12_000, 9_000), "huge.png", reference)


def test_a_huge_file_is_refused(reference: Reference) -> None:
    with pytest.raises(BadInput, match="at most 40 MB"):
        look_at(b"\xff\xd8" + b"\0" * 41_000_000, "huge.jpg", reference)


@pytest.mark.parametrize("format", ["JPEG", "PNG", "HEIF"])
def test_a_photo_that_is_cut_short_is_refused(reference: Reference, format: str) -> None:
    data = encoded(format)
    with pytest.raises(BadInput, match=r"cut short|beginning is broken"):
        look_at(data[: len(data) * 2 // 3], "half.jpg", reference)


@pytest.mark.parametrize("data", [b"", b"GIF89a no", b"%PDF-1.7", b"\xff\xd8\xff"])
def test_what_is_no_photo_is_refused(reference: Reference, data: bytes) -> None:
    with pytest.raises(BadInput, match=r"expected a .*photo"):
        look_at(data, "x", reference)


def test_nothing_is_kept_of_a_photo_of_a_piece_that_is_not_there(place: str, reference: Reference) -> None:
    with open_ledger(place) as book:
        order = Photo("X9", encoded("JPEG"), "IMG.jpg")
        recorded = add_photo(book, photo_folder(place), order, reference, Scribe("me", TODAY))
    assert "a piece that the ledger has or had" in str(recorded.problems[0])
    assert not photo_folder(place).exists()


def test_missing_libraries_are_told_with_the_way_to_get_them(
    reference: Reference, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = encoded("JPEG")
    monkeypatch.setitem(sys.modules, "cv2", None)
    with pytest.raises(BrokenEnvironment, match=r"pip install 'ramet\[photos\]'"):
        measure_area(data, "p", AreaOrder(), reference)
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    with pytest.raises(BrokenEnvironment, match=r"pip install 'ramet\[photos\]'"):
        look_at(data, "p", reference)


def _history(place: str) -> tuple[object, ...]:
    with open_ledger(place) as book:
        return history(book, "E1")

"""Which bag a label is of: its code read from a photo, or typed."""

import io
from dataclasses import dataclass

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.domain.problems import Place, Problem

PREFIX = "ramet:bag:"
LONGEST_PX = 2000


@dataclass(frozen=True, slots=True)
class Label:
    """What a bag label's code says."""

    bag: str
    shipment: str


def label_of(text: str) -> Label | None:
    """Return the label that a code's text is of, or None when it is another code.

    >>> label_of("ramet:bag:A1:Small reef")
    Label(bag='A1', shipment='Small reef')
    """
    if not text.startswith(PREFIX):
        return None
    bag, _, shipment = text.removeprefix(PREFIX).partition(":")
    return Label(bag, shipment)


def label_in_photo(data: bytes) -> Label:
    """Read the label's code from a photo. Raises BadInput when there is none to be read in it."""
    try:
        import zxingcpp
        from PIL import Image, ImageOps
    except ModuleNotFoundError as error:
        raise BrokenEnvironment("reading labels needs the package's extra “photos”") from error
    place = Place("photo", column="photo")
    try:
        with Image.open(io.BytesIO(data)) as image:
            image.draft("L", (LONGEST_PX, LONGEST_PX))
            grey = ImageOps.exif_transpose(image).convert("L")
            grey.thumbnail((LONGEST_PX, LONGEST_PX))
    except (OSError, SyntaxError, ValueError, Image.DecompressionBombError) as error:
        problem = Problem(place, "a file that is no whole photo", "a JPEG, PNG or WebP photo of a label")
        raise BadInput([problem]) from error
    texts = [found.text for found in zxingcpp.read_barcodes(grey)]
    labels = [label for text in texts if (label := label_of(text)) is not None]
    if len(labels) != 1:
        found = "no code that can be read" if not texts else f"“{texts[0][:40]}”" if not labels else "several"
        expected = "the code of one bag label, sharp and as large as the picture; or type the bag's name"
        raise BadInput([Problem(place, found, expected)])
    return labels[0]

"""Which bag a label is of: its code read from a photo, or typed."""

from dataclasses import dataclass

from ramet.domain.errors import BadInput, BrokenEnvironment
from ramet.domain.problems import Place, Problem
from ramet.reference.tables import Reference
from ramet.services.photos.intake import picture_of

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


def label_in_photo(data: bytes, reference: Reference) -> Label:
    """Read the label's code from a photo. Raises BadInput when there is none to be read in it."""
    try:
        import zxingcpp
    except ModuleNotFoundError as error:
        raise BrokenEnvironment("reading labels needs the package's extra “photos”") from error
    grey = picture_of(data, "photo", reference).convert("L")
    grey.thumbnail((LONGEST_PX, LONGEST_PX))
    texts = [found.text for found in zxingcpp.read_barcodes(grey)]
    labels = [label for text in texts if (label := label_of(text)) is not None]
    if len(labels) != 1:
        found = "no code that can be read" if not texts else f"“{texts[0][:40]}”" if not labels else "several"
        expected = "the code of one bag label, sharp and as large as the picture; or type the bag's name"
        raise BadInput([Problem(Place("photo"), found, expected)])
    return labels[0]

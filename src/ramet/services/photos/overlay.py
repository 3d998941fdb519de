"""The photo with the outline that was measured, to be looked at before it is trusted."""

from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.reference.tables import Reference
from ramet.services.photos.area import PhotoArea
from ramet.services.photos.intake import picture_of

_LONGEST_PX = 2000


def write_overlay(path: Path, data: bytes, name: str, found: PhotoArea, reference: Reference) -> None:
    """Write the photo with the outline drawn on it, black in white so that it shows on any coral."""
    from PIL import ImageDraw

    picture = picture_of(data, name, reference)
    width = max(2, round(max(picture.size) / 700))
    points = [*found.outline_px, found.outline_px[0]]
    pen = ImageDraw.Draw(picture)
    pen.line(points, fill="white", width=3 * width, joint="curve")
    pen.line(points, fill="black", width=width, joint="curve")
    picture.thumbnail((_LONGEST_PX, _LONGEST_PX))
    try:
        picture.save(path)
    except (OSError, ValueError) as error:
        expected = "a file such as seen.jpg or seen.png that can be written"
        raise BadInput([Problem(Place("--show"), str(path), expected)]) from error

"""Read photos that a person names, and outlines drawn on them."""

import re
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem

_POINT = re.compile(r"\s*(-?\d+(?:\.\d+)?)\s*[,;\t ]\s*(-?\d+(?:\.\d+)?)\s*")


def photo_bytes(path: Path) -> bytes:
    """Return the bytes of a photo. Raises BadInput when it can't be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise BadInput([Problem(Place(str(path)), error.strerror, "a photo that can be read")]) from error


def point_of(text: str, name: str) -> tuple[float, float]:
    """Return a pixel typed as "X,Y"."""
    found = _POINT.fullmatch(text)
    if found is None:
        raise BadInput([Problem(Place(name), text, "a pixel such as 1200,900")])
    return float(found[1]), float(found[2])


def outline_of(text: str) -> tuple[tuple[float, float], ...]:
    """Return an outline: a file with one "X,Y" a line, or the points themselves, "X,Y X,Y X,Y"."""
    path = Path(text)
    if len(text) < 1000 and path.is_file():
        lines = [line for line in path.read_text(encoding="utf-8-sig").splitlines() if line.strip()]
        if lines and _POINT.fullmatch(lines[0]) is None:
            lines = lines[1:]  # a line of headers
        return tuple(point_of(line, f"{text}:{number}") for number, line in enumerate(lines, start=1))
    return tuple(point_of(part, "--outline") for part in text.split())

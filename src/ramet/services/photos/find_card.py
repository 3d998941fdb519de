"""Find a printed scale card in a photo: its four markers, their corners to a fraction of a pixel."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.reference.scale_cards import ScaleCard
from ramet.science.photo_scale import CardView, card_view
from ramet.services.photos.extra import opencv

Picture = NDArray[np.uint8]
"""Rows, columns, and red, green, blue."""


@dataclass(frozen=True, slots=True)
class FoundCard:
    """A card in a photo, with the view of its plane and how many millimetres a pixel of the photo spans."""

    card: ScaleCard
    view: CardView
    mm_per_px: float


def find_card(picture: Picture, cards: Mapping[str, ScaleCard], name: str) -> FoundCard:
    """Return the card whose four markers are in a picture. Raises BadInput when there is none.

    One marker alone would do for the scale, and be wrong by a tenth of the area; with four, the view of the
    plane is known.
    """
    corners = _markers(picture)
    found = [card for card in cards.values() if all(marker.id in corners for marker in card.markers)]
    if not found:
        raise BadInput([Problem(Place(name), _what_is_seen(corners, cards), _EXPECTED)])
    card = found[0]
    pixels = np.vstack([corners[marker.id] for marker in card.markers])
    on_card = np.array([corner for marker in card.markers for corner in marker.corners_mm])
    view = card_view(pixels, on_card)
    return FoundCard(card, view, _scale(view, card))


_EXPECTED = (
    "all four markers of one scale card in the picture, sharp, unglazed and uncovered "
    "(`ramet card -o card.pdf` prints one)"
)


def _markers(picture: Picture) -> dict[int, NDArray[np.float64]]:
    cv2 = opencv()
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    parameters.cornerRefinementWinSize = 5
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(grey)
    if ids is None:
        return {}
    # A detector's pixel is a point at its middle; ours is a square that begins at its edge.
    return {
        int(number): four.reshape(4, 2).astype(float) + 0.5
        for number, four in zip(ids.ravel(), corners, strict=True)
    }


def _what_is_seen(corners: Mapping[int, object], cards: Mapping[str, ScaleCard]) -> str | None:
    for card in cards.values():
        seen = [marker.id for marker in card.markers if marker.id in corners]
        if seen:
            return f"{len(seen)} of the 4 markers of the {card.name} card"
    return None


def _scale(view: CardView, card: ScaleCard) -> float:
    """Return how many millimetres a pixel spans in the middle of the window."""
    left, top, right, bottom = card.window_mm
    x, y = (left + right) / 2, (top + bottom) / 2
    near = np.array([[x, y], [x + 1, y], [x, y + 1]])
    origin, across, down = view.in_photo(near)
    u, v = across - origin, down - origin
    return float(1 / np.sqrt(abs(u[0] * v[1] - u[1] * v[0])))

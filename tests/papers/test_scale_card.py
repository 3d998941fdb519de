"""The printed cards bear the markers that a detector knows, at the size that the table says."""

import io

import cv2
import numpy as np
import pypdfium2
import pytest

from ramet.papers.scale_card import scale_card_pdf
from ramet.reference.scale_cards import load_scale_cards

DPI = 300
CARDS = load_scale_cards()


def test_the_bits_are_those_of_the_published_dictionary() -> None:
    """The 4×4 dictionary of 50 markers as OpenCV has it (after Garrido-Jurado et al. 2014)."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    for card in CARDS.values():
        for marker in card.markers:
            inside = dictionary.generateImageMarker(marker.id, 6)[1:5, 1:5] > 0
            assert tuple(bool(bit) for bit in inside.ravel()) == marker.bits


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_markers_on_the_page_are_found_at_their_true_distance(paper: str) -> None:
    document = pypdfium2.PdfDocument(io.BytesIO(scale_card_pdf(list(CARDS.values()), paper)))
    assert len(document) == 1
    page = np.asarray(document[0].render(scale=DPI / 72).to_pil().convert("L"))
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, ids, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(page)
    seen = {int(n): four.reshape(4, 2) / DPI * 25.4 for n, four in zip(ids.ravel(), corners, strict=True)}
    for card in CARDS.values():
        first = seen[card.markers[0].id][0]
        for marker in card.markers:
            expected = first + np.array(marker.corners_mm)
            assert seen[marker.id] == pytest.approx(expected, abs=0.15)


def test_the_same_cards_give_the_same_page() -> None:
    cards = list(CARDS.values())
    assert scale_card_pdf(cards, "a4") == scale_card_pdf(cards, "a4")

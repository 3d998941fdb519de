"""The papers under blue light and without hue."""

import xml.etree.ElementTree as ET

import pytest

from ramet.domain.words import BagClass, Status
from ramet.papers.marks import INK, KELP, PAPER, SAND, STONE, class_mark, standalone, verdict_mark
from ramet.papers.words import CLASS, VERDICT


def _linear(ink: str) -> list[float]:
    """Channels in linear light, as in the definition of relative luminance (WCAG 2.2)."""
    parts = [int(ink[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    return [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]


def _contrast(dark: float, light: float) -> float:
    """WCAG 2.2 contrast ratio of two relative luminances."""
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(("ink", "least"), [(INK, 7), (KELP, 7), (STONE, 4.5)])
@pytest.mark.parametrize("ground", [PAPER, SAND])
def test_inks_stand_off_their_ground_in_white_light_and_in_blue_alone(ink, least, ground):
    """WCAG 2.2: 4.5 for text (1.4.3), 7 for enhanced contrast (1.4.6); STONE writes on paper only."""
    if ink == STONE and ground == SAND:
        least = 3
    weights = (0.2126, 0.7152, 0.0722)
    white = [sum(w * c for w, c in zip(weights, _linear(one), strict=True)) for one in (ink, ground)]
    assert _contrast(*white) >= least
    assert _contrast(_linear(ink)[2], _linear(ground)[2]) >= least - 0.5


def test_every_class_and_verdict_has_a_shape_and_a_word_of_its_own():
    shapes = [class_mark(one) for one in BagClass]
    assert len(set(shapes)) == len(set(CLASS.values())) == len(BagClass)
    verdicts = [verdict_mark(one) for one in Status]
    assert len(set(verdicts)) == len(set(VERDICT.values())) == len(Status)
    for shape in (*shapes, *verdicts):
        ET.fromstring(standalone(shape, "mark"))

"""Areas from photos drawn at known scale with perspective, against the area of the shape drawn."""

import math

import numpy as np
import pytest
from drawn_photo import Camera, card_of, disc, draw, jpeg, lobed, middle_of, rectangle

from ramet.domain.errors import BadInput
from ramet.reference.tables import Reference, load_reference
from ramet.services.photos.area import AreaOrder, PhotoArea, measure_area

LARGE, SMALL = card_of("large"), card_of("small")
X, Y = middle_of(LARGE)


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def measured(photo: np.ndarray, reference: Reference, **how: object) -> PhotoArea:
    return measure_area(jpeg(photo), "photo.jpg", AreaOrder(**how), reference)


@pytest.mark.parametrize("tilt", [0, 12, 25])
def test_a_disc_is_measured_within_two_percent_whatever_the_tilt(reference: Reference, tilt: float) -> None:
    """A disc of radius 15 mm has π · 1.5² = 7.07 cm²; found by its colour alone."""
    found = measured(draw(disc(X, Y, 15), LARGE, Camera(tilt_deg=tilt)), reference)
    assert found.area_cm2.typical == pytest.approx(math.pi * 2.25, rel=0.02)
    assert found.area_cm2.low < math.pi * 2.25 < found.area_cm2.high
    assert found.length_mm == pytest.approx(30, abs=0.6)
    assert found.card == "large"


def test_a_rosette_is_measured_within_two_percent_on_the_small_card(reference: Reference) -> None:
    """r = R (1 + d cos 7φ) has the area πR² (1 + d² / 2)."""
    x, y = middle_of(SMALL)
    found = measured(draw(lobed(x, y, 14, 7, 0.25), SMALL, Camera(height_mm=250)), reference)
    assert found.area_cm2.typical == pytest.approx(math.pi * 1.96 * (1 + 0.25**2 / 2), rel=0.02)
    assert found.card == "small"


def test_an_outline_drawn_by_hand_is_measured_to_half_a_percent(reference: Reference) -> None:
    """A rectangle of 24 × 18 mm, its corners projected by the camera of the drawing: 4.32 cm²."""
    shape, camera = rectangle(X - 12, Y - 9, 24, 18), Camera(tilt_deg=20)
    view = camera.homography((X, Y))
    flat = np.c_[shape, np.ones(4)] @ view.T
    corners = tuple(map(tuple, flat[:, :2] / flat[:, 2:]))
    found = measured(draw(shape, LARGE, camera), reference, outline_px=corners)
    assert found.area_cm2.typical == pytest.approx(4.32, rel=0.005)
    by_colour = measured(draw(shape, LARGE, camera), reference)
    assert found.errors["what counts as live"] < by_colour.errors["what counts as live"]


def test_a_seed_picks_one_of_two(reference: Reference) -> None:
    photo = draw(disc(X - 25, Y, 14), LARGE, Camera())
    both = np.minimum(photo, draw(disc(X + 25, Y, 9), LARGE, Camera()))
    view = Camera().homography((X, Y))
    u, v, w = view @ [X + 25, Y, 1]
    found = measured(both, reference, seed_px=(u / w, v / w))
    assert found.area_cm2.typical == pytest.approx(math.pi * 0.81, rel=0.03)
    assert measured(both, reference).area_cm2.typical == pytest.approx(math.pi * 1.96, rel=0.03)


def test_a_pale_coral_on_a_dark_ground_is_found_too(reference: Reference) -> None:
    photo = draw(disc(X, Y, 15), LARGE, Camera(), colours=((214, 205, 120), (235, 235, 235)))
    assert measured(photo, reference).area_cm2.typical == pytest.approx(math.pi * 2.25, rel=0.03)


def test_the_printed_ruler_corrects_a_print_of_the_wrong_size(reference: Reference) -> None:
    """Printed at 97 %, the card makes everything read 1 / 0.97² = 6.3 % too large."""
    photo = draw(disc(X * 0.97, Y * 0.97, 15), LARGE, Camera(), print_scale=0.97)
    assert measured(photo, reference).area_cm2.typical == pytest.approx(math.pi * 2.25 / 0.97**2, rel=0.02)
    told = measured(photo, reference, ruler_mm=97)
    assert told.area_cm2.typical == pytest.approx(math.pi * 2.25, rel=0.02)
    assert told.errors["scale of the print"] < 0.005


def test_the_height_of_the_tissue_is_taken_out(reference: Reference) -> None:
    """(400 / 380)²: 20 mm above the card under a camera taken to stand at 400 mm reads 10.8 % too large."""
    photo = draw(disc(X, Y, 15), LARGE, Camera(tilt_deg=0))
    flat = measured(photo, reference).area_cm2.typical
    assert flat / measured(photo, reference, above_mm=20).area_cm2.typical == pytest.approx(1.108, abs=0.001)


def test_the_same_photo_gives_the_same_area(reference: Reference) -> None:
    photo = jpeg(draw(disc(X, Y, 15), LARGE, Camera()))
    first, second = (measure_area(photo, "p", AreaOrder(), reference) for _ in range(2))
    assert first == second


def test_a_covered_marker_is_told(reference: Reference) -> None:
    with pytest.raises(BadInput, match=r"3 of the 4 markers of the large card.*all four markers"):
        measured(draw(disc(X, Y, 15), LARGE, Camera(), hide=2), reference)


def test_a_photo_without_a_card_is_told(reference: Reference) -> None:
    with pytest.raises(BadInput, match="nothing there; expected all four markers"):
        measured(np.full((600, 800, 3), 128, np.uint8), reference)


def test_an_empty_window_is_told(reference: Reference) -> None:
    with pytest.raises(BadInput, match="differs in colour"):
        measured(draw(None, LARGE, Camera()), reference)


def test_a_coral_that_leaves_the_window_is_told(reference: Reference) -> None:
    with pytest.raises(BadInput, match="wholly inside the window"):
        measured(draw(disc(X, LARGE.window_mm[3], 20), LARGE, Camera()), reference)


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"outline_px": ((1, 1), (2, 2))}, "three points"),
        ({"ruler_mm": 10}, "80 to 120 mm"),
        ({"above_mm": 900}, "-50 to 150 mm"),
        ({"seed_px": (10, 10)}, "a point on the coral"),
        ({"outline_px": ((1, 1), (2, 2), (3, 3))}, "encloses something"),
    ],
)
def test_orders_that_make_no_sense_are_told(reference: Reference, how: dict[str, object], told: str) -> None:
    photo = draw(disc(X, Y, 15), LARGE, Camera())
    with pytest.raises(BadInput, match=told):
        measured(photo, reference, **how)

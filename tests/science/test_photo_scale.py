"""The plane of a card in a photo, and areas on it, against closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.science.photo_scale import area_error, card_view, moved, outline, raised_share

CARD = np.array([[0, 0], [160, 0], [160, 120], [0, 120], [30, 40], [90, 70], [20, 100]], dtype=float)


@given(
    st.floats(-0.4, 0.4),
    st.floats(3, 25),
    st.floats(-2e-4, 2e-4),
    st.floats(-2e-4, 2e-4),
    st.floats(0, 4000),
)
def test_any_view_of_the_plane_is_found_again(turn, scale, slant_x, slant_y, shift):
    true = np.array(
        [
            [scale * math.cos(turn), -scale * math.sin(turn), shift],
            [scale * math.sin(turn), scale * math.cos(turn), shift / 2],
            [slant_x, slant_y, 1.0],
        ]
    )
    view = card_view(moved(true, CARD), CARD)
    assert view.residual_mm < 1e-5
    inside = np.array([[70.0, 60.0], [12.0, 110.0]])
    assert view.on_card(moved(true, inside)) == pytest.approx(inside, abs=1e-4)
    assert view.in_photo(inside) == pytest.approx(moved(true, inside), rel=1e-6, abs=1e-3)


def test_a_residual_tells_corners_that_do_not_fit():
    pixels = CARD * 10
    pixels[4] += [8, -6]
    assert card_view(pixels, CARD).residual_mm > 0.1


def test_a_circle_and_a_square_measure_as_in_a_textbook():
    angles = np.linspace(0, 2 * math.pi, 2000, endpoint=False)
    circle = outline(np.c_[50 + 20 * np.cos(angles), 20 * np.sin(angles)])
    assert circle.area_cm2 == pytest.approx(math.pi * 4, rel=1e-5)
    assert circle.perimeter_mm == pytest.approx(2 * math.pi * 20, rel=1e-5)
    assert (circle.length_mm, circle.width_mm) == pytest.approx((40, 40), rel=1e-4)
    square = outline(np.array([[0, 0], [30, 0], [30, 30], [0, 30]], dtype=float))
    assert square.area_cm2 == pytest.approx(9)
    assert square.length_mm == pytest.approx(30 * math.sqrt(2), rel=1e-6)


def test_a_scale_three_percent_short_gives_an_area_six_percent_large():
    # Husbandry check value: 1.03² = +6.09 %.
    square = np.array([[0, 0], [30, 0], [30, 30], [0, 30]], dtype=float)
    assert outline(square * 1.03).area_cm2 / outline(square).area_cm2 == pytest.approx(1.0609)


def test_a_piece_five_centimetres_above_the_card_reads_a_quarter_too_large():
    # At 50 cm camera height: (50 / 45)² = 1.235, 23 % too large (husbandry check value).
    assert raised_share(50, 500) == pytest.approx(1.2346, abs=5e-5)
    assert raised_share(0, 500) == 1
    with pytest.raises(ValueError, match="below the camera"):
        raised_share(500, 500)


def test_errors_add_in_quadrature():
    assert area_error((0.03, 0.04)) == pytest.approx(0.05)


@pytest.mark.parametrize("points", [np.zeros((2, 2)), np.array([[0, 0], [1, 1], [2, 2]], dtype=float)])
def test_an_outline_that_encloses_nothing_is_refused(points):
    with pytest.raises(ValueError, match=r"three points|encloses"):
        outline(points)

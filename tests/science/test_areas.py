"""The three areas of a piece: closed forms, numerical surfaces, and that they stay apart."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from ramet.domain.band import Band, exactly
from ramet.domain.words import Form
from ramet.science.areas import FormFactors, Size, areas_of_form, dome_cm2_thomsen, ellipse_cm2
from ramet.science.spread import product, total

PLAIN = FormFactors(exactly(1), exactly(1), exactly(1))
SIZES = st.floats(5, 300)


def test_a_hemisphere_is_exact():
    assert dome_cm2_thomsen(40, 40, 20) == pytest.approx(2 * math.pi * 2**2)


@pytest.mark.parametrize(
    ("length", "width", "height"), [(45, 35, 50), (60, 40, 15), (20, 20, 60), (30, 90, 40)]
)
def test_the_dome_agrees_with_the_surface_integral(length, width, height):
    # Independent: the area integral of half an ellipsoid in angles. Thomsen claims about 1 % near a sphere.
    a, b, c = length / 20, width / 20, height / 10

    def element(phi: float, theta: float) -> float:
        x, y, z = math.sin(theta) * math.cos(phi), math.sin(theta) * math.sin(phi), math.cos(theta)
        return math.sin(theta) * math.sqrt((b * c * x) ** 2 + (a * c * y) ** 2 + (a * b * z) ** 2)

    exact, _ = dblquad(element, 0, math.pi / 2, 0, 2 * math.pi)
    assert dome_cm2_thomsen(length, width, height) == pytest.approx(exact, rel=0.015)


def test_flat_forms_ignore_height_and_domes_do_not():
    for form in (Form.PLATING, Form.ENCRUSTING, Form.MAT):
        assert areas_of_form(form, Size(40, 30, 5), PLAIN) == areas_of_form(form, Size(40, 30, 25), PLAIN)
    low = areas_of_form(Form.MASSIVE, Size(40, 30, 5), PLAIN).tissue_cm2.typical
    assert areas_of_form(Form.MASSIVE, Size(40, 30, 25), PLAIN).tissue_cm2.typical > 1.5 * low


def test_corals_of_separate_heads_are_counted_in_heads():
    factors = FormFactors(exactly(2), exactly(1), exactly(1), head_area_cm2=Band(3, 6, 10))
    one = areas_of_form(Form.PHACELOID, Size(60, 40, 60, 1), factors)
    three = areas_of_form(Form.PHACELOID, Size(60, 40, 60, 3), factors)
    assert three.tissue_cm2.typical == pytest.approx(3 * one.tissue_cm2.typical) == pytest.approx(36)
    assert three.footprint_cm2 == one.footprint_cm2


def test_a_piece_without_size_is_refused():
    with pytest.raises(ValueError, match="width_mm"):
        Size(40, 0, 20)
    with pytest.raises(ValueError, match="heads"):
        Size(40, 10, 20, 0)


@given(st.sampled_from(Form), SIZES, SIZES, SIZES)
def test_areas_grow_with_the_square_of_size(form, length, width, height):
    small = areas_of_form(form, Size(length, width, height), PLAIN)
    large = areas_of_form(form, Size(2 * length, 2 * width, 2 * height), PLAIN)
    assert large.contour_cm2.typical == pytest.approx(4 * small.contour_cm2.typical)
    assert small.footprint_cm2.typical == pytest.approx(ellipse_cm2(length, width))


def test_independent_errors_add_in_quadrature():
    # Two factors, each off by e: together by e to the power of the square root of 2.
    one = Band(1 / math.e, 1.0, math.e)
    both = product(one, one)
    assert both.high == pytest.approx(math.exp(math.sqrt(2)))
    assert both.low == pytest.approx(math.exp(-math.sqrt(2)))


def test_a_factor_of_nothing_gives_nothing_and_a_sum_adds_ends():
    assert product(Band(0, 0, 0), Band(1, 2, 3)) == Band(0, 0, 0)
    assert total([Band(1, 2, 3), Band(1, 2, 3)]) == Band(2, 4, 6)

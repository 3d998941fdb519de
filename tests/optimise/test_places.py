"""Numbered places on a plane decide just what the solver decides: bodies, turning and levels included."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from test_packing import apart, lies_well

from ramet.optimise.floors import Plane
from ramet.optimise.packing import fit_exactly
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Budget
from ramet.optimise.solving import Account


def fit(plane, bags, clash=None):
    table = PlaceTable.of([(plane, bag) for bag in bags])
    assert table is not None
    rects, proven, _ = table.fit(plane, bags, clash, 5.0)
    return rects, proven


def test_six_squares_of_110_fit_on_400_by_300_and_not_seven():
    # floor(400/110) * floor(300/110) = 6: each square covers a point of a grid of 110
    place = Plane(400, 300)
    rects, _ = fit(place, [(110, 110, 0)] * 6)
    assert lies_well(place, [(110, 110, 0)] * 6, rects)
    assert fit(place, [(110, 110, 0)] * 7) == (None, True)


def test_five_bricks_around_a_hole_fit_only_when_turned():
    # the pinwheel: four 2 x 1 bricks around a unit hole fill a 3 x 3 floor
    place, bags = Plane(30, 30), [(20, 10, 0)] * 4 + [(10, 10, 0)]
    rects, _ = fit(place, bags)
    assert lies_well(place, bags, rects)


def test_the_smallest_perfect_squared_rectangle_is_found():
    # 33 x 32 from nine unequal squares (Moron 1925, from memory): no room to spare, and one way only
    place = Plane(33, 32)
    squares = [(side, side, 0) for side in (18, 15, 14, 10, 9, 8, 7, 4, 1)]
    rects, _ = fit(place, squares)
    assert lies_well(place, squares, rects)
    assert sum(side * side for side, _, _ in squares) == 33 * 32


def test_bags_on_two_levels_may_be_over_each_other_where_they_do_not_clash():
    place, bags = Plane(100, 100), [(100, 100, 0)] * 2
    assert fit(place, bags) == (None, True)
    assert fit(place, bags, np.zeros((2, 2), dtype=np.bool_))[0] == ((0, 0, 100, 100),) * 2


def test_a_search_that_is_cut_short_claims_nothing():
    place, bags = Plane(95, 95), [(19, 19, 0)] * 24 + [(20, 20, 0)] * 2
    table = PlaceTable.of([(place, bag) for bag in bags])
    assert table is not None
    assert table.fit(place, bags, None, 1e-7)[:2] == (None, False)


def test_a_plane_with_too_many_places_is_not_numbered():
    assert PlaceTable.of([(Plane(1200, 900), (side, side + 1, 0)) for side in range(60, 90)]) is None


sizes = st.tuples(st.integers(2, 9), st.integers(2, 9), st.integers(0, 3))
blocks = st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(1, 6), st.integers(1, 6))


@settings(max_examples=120, deadline=None)
@given(
    st.lists(sizes, min_size=1, max_size=8),
    st.integers(7, 14),
    st.integers(7, 14),
    st.lists(blocks, max_size=2),
    st.lists(st.sets(st.integers(0, 7), min_size=1), max_size=3),
)
def test_places_say_what_the_solver_says(bags, length, width, bodies, groups):
    bodies = [
        (x, y, min(a, length - x), min(b, width - y)) for x, y, a, b in bodies if x < length and y < width
    ]
    place = Plane(10 * length, 10 * width, tuple(tuple(10 * v for v in body) for body in bodies))
    bags = [(10 * long, 10 * wide, mask % (1 << len(bodies))) for long, wide, mask in bags]
    groups = [sorted(k for k in group if k < len(bags)) for group in groups]
    groups = [group for group in groups if group] or [list(range(len(bags)))]
    assume(all(any(k in group for group in groups) for k in range(len(bags))))
    clash = np.zeros((len(bags), len(bags)), dtype=np.bool_)
    for group in groups:
        clash[np.ix_(group, group)] = True
    np.fill_diagonal(clash, False)
    rects, proven = fit(place, bags, clash)
    exact = fit_exactly(place, bags, Account(Budget(20.0, 1)), 5.0, groups)
    assert proven
    assert (rects is None) == (exact.rects is None)
    if rects is not None:
        for group in groups:
            assert lies_well(place, [bags[k] for k in group], [rects[k] for k in group])
        assert all(apart(rects[a], rects[b]) for a, b in zip(*np.nonzero(clash), strict=True))

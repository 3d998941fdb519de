"""All that a plane holds: verdicts, smallest sets that do not fit, and planes that are not explored."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramet.optimise.floors import Plane
from ramet.optimise.frontier import FITS, MISFIT, OPEN, Frontier
from ramet.optimise.packing import FloorLab, fit_exactly
from ramet.optimise.problem import Budget
from ramet.optimise.solving import Account


def account():
    return Account(Budget(200.0, 1))


def explored(plane, kinds):
    found = Frontier.of(plane, kinds)
    assert found is not None
    found.explore(FloorLab(account()), 200.0)
    return found


def test_six_squares_of_110_are_all_that_400_by_300_holds():
    # floor(400/110) * floor(300/110) = 6: each square covers a point of a grid of 110
    found = explored(Plane(400, 300), [(110, 110, 0)])
    assert found.complete
    assert found.misfits == [((110, 110, 0),) * 7]
    assert found.verdict([(110, 110, 0)] * 6) == FITS
    assert found.verdict([(110, 110, 0)] * 7) == MISFIT


def test_a_perfect_rectangle_is_known_to_fit_and_nothing_more():
    # 2 x 1 bricks on 4 x 3: six of them fill it
    found = explored(Plane(40, 30), [(20, 10, 0), (20, 20, 0)])
    assert found.verdict([(10, 20, 0)] * 6) == FITS
    assert found.verdict([(10, 20, 0)] * 5 + [(20, 20, 0)]) == MISFIT


def test_a_body_hinders_only_the_bags_it_is_in_the_way_of():
    found = explored(Plane(100, 50, ((0, 0, 50, 50),)), [(50, 50, 0), (50, 50, 1)])
    assert found.verdict([(50, 50, 0), (50, 50, 1)]) == FITS
    assert found.verdict([(50, 50, 0), (50, 50, 0)]) == FITS
    assert found.verdict([(50, 50, 1), (50, 50, 1)]) == MISFIT


def test_nothing_is_said_of_bags_of_other_sizes():
    assert explored(Plane(100, 50), [(50, 50, 0)]).verdict([(10, 10, 0)]) == OPEN


def test_a_plane_for_very_many_small_bags_is_not_explored():
    assert Frontier.of(Plane(1000, 1000), [(10, 10, 0)]) is None


def test_a_stop_leaves_the_rest_open():
    found = Frontier.of(Plane(100, 100), [(30, 40, 0), (20, 50, 0)])
    assert found is not None
    stopped = Account(Budget(200.0, 1), lambda: True)
    found.explore(FloorLab(stopped), 200.0)
    assert not found.complete


planes = st.builds(
    Plane, st.sampled_from([60, 70, 80, 90]), st.sampled_from([50, 60, 70]),
    st.sampled_from([(), ((20, 20, 30, 20),)]),
)  # fmt: skip
kinds = st.lists(
    st.tuples(st.sampled_from([20, 30, 40]), st.sampled_from([20, 30]), st.integers(0, 1)),
    min_size=1, max_size=3, unique=True,
)  # fmt: skip


@settings(max_examples=15, deadline=None)
@given(planes, kinds, st.data())
def test_every_verdict_is_that_of_the_exact_packing(plane, sizes, data):
    found = explored(plane, [size if plane.bodies else (*size[:2], 0) for size in sizes])
    counts = [data.draw(st.integers(0, 3)) for _ in found.kinds]
    bags = [kind for kind, count in zip(found.kinds, counts, strict=True) for _ in range(count)]
    exact = fit_exactly(plane, bags, account(), 20.0)
    assert found.complete
    assert found.verdict(bags) == (MISFIT if exact.misfit else FITS)


@settings(max_examples=10, deadline=None)
@given(planes, kinds)
def test_a_misfit_fits_as_soon_as_any_one_bag_is_left_out(plane, sizes):
    found = explored(plane, [(*size[:2], 0) for size in sizes])
    for bags in found.misfits:
        for left_out in range(len(bags)):
            assert found.verdict([*bags[:left_out], *bags[left_out + 1 :]]) == FITS


@pytest.mark.parametrize(("length", "width"), list(product((70, 90), (50, 60))))
def test_the_fullest_sets_fit_and_cover_every_other_that_does(length, width):
    found = explored(Plane(length, width), [(20, 20, 0), (30, 30, 0), (40, 20, 0)])
    fullest = found.fullest()
    risers = fullest @ found.groups.T
    for row, state in zip(found.risers, found.state, strict=True):
        assert (state == FITS) == bool((risers >= row).all(axis=1).any())

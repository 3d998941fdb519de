"""Floors: valid areas, quick and exact packing, misfits; and bodies that hang over a floor."""

from hypothesis import given, settings
from hypothesis import strategies as st

from ramet.optimise.dual import grid_areas
from ramet.optimise.floors import Free, Plane, pack_quickly
from ramet.optimise.packing import FloorLab, fit_exactly
from ramet.optimise.problem import Budget
from ramet.optimise.scales import sharpest_area
from ramet.optimise.solving import Account


def lab():
    return FloorLab(Account(Budget(20.0, 1)))


def apart(a, b):
    return a[0] >= b[0] + b[2] or b[0] >= a[0] + a[2] or a[1] >= b[1] + b[3] or b[1] >= a[1] + a[3]


def lies_well(plane, bags, rects):
    inside = all(x >= 0 and y >= 0 and x + a <= plane.length and y + b <= plane.width for x, y, a, b in rects)
    sizes = all(sorted(r[2:]) == sorted(bag[:2]) for r, bag in zip(rects, bags, strict=True))
    free = all(apart(r, s) for k, r in enumerate(rects) for s in rects[:k])
    clear = all(
        apart(r, body) or not bag[2] >> k & 1
        for r, bag in zip(rects, bags, strict=True)
        for k, body in enumerate(plane.bodies)
    )
    return inside and sizes and free and clear


def test_six_squares_of_110_fit_on_400_by_300_and_not_seven():
    # floor(400/110) * floor(300/110) = 6: each square covers a point of a grid of 110
    place = Plane(400, 300)
    six, seven = [(110, 110, 0)] * 6, [(110, 110, 0)] * 7
    assert lab().fit(place, six).rects is not None
    misfit = lab().fit(place, seven)
    assert misfit.rects is None
    assert misfit.proven


def test_five_bricks_around_a_hole_fit_only_when_turned():
    # the pinwheel: four 2 x 1 bricks around a unit hole fill a 3 x 3 floor
    place = Plane(30, 30)
    bags = [(20, 10, 0)] * 4 + [(10, 10, 0)]
    fit = lab().fit(place, bags)
    assert fit.rects is not None
    assert lies_well(place, bags, fit.rects)


def test_a_bag_stands_under_a_lid_pack_unless_the_pack_is_in_its_way():
    place = Plane(100, 100, ((0, 0, 100, 100),))
    assert lab().fit(place, [(100, 100, 0)]).rects is not None
    assert lab().fit(place, [(100, 100, 1)]).proven


def test_bodies_that_overlap_each_other_leave_the_rest_of_the_floor_free():
    # keep-away blocks of two packs side by side share room; the right half stays free
    place = Plane(100, 100, ((0, 0, 50, 60), (0, 40, 50, 60)))
    assert fit_exactly(place, [(50, 100, 3)], Account(Budget(20.0, 1)), 5.0).rects == ((50, 0, 50, 100),)
    assert fit_exactly(place, [(60, 100, 3)], Account(Budget(20.0, 1)), 5.0).proven


def test_a_misfit_is_cut_down_to_what_does_not_fit():
    place = Plane(100, 100)
    where, bags = lab().smallest_misfit(place, [(60, 60, 0), (60, 60, 0), (10, 10, 0), (20, 20, 0)])
    assert bags == [(60, 60, 0), (60, 60, 0)]
    assert where.bodies == ()


def test_a_misfit_is_told_of_the_smallest_sizes_that_do_not_fit():
    place = Plane(100, 100)
    sizes = [(40, 40, 0), (51, 51, 0), (60, 60, 0), (70, 70, 0)]
    _, bags = lab().smallest_misfit(place, [(70, 70, 0), (70, 70, 0)], sizes)
    assert sorted(bags) == [(40, 40, 0), (70, 70, 0)]  # 70 and 40 side by side need 110


def test_the_sharpest_area_sees_what_plain_area_does_not():
    # 3 squares of 51 on 100 x 100: 78 % of the area, but no two fit side by side
    bags = [(51, 51, 10), (51, 51, 10)]
    assert sharpest_area((100, 100), bags, [], [51]) is not None


sizes = st.tuples(st.integers(1, 9), st.integers(1, 9), st.just(1)).map(
    lambda s: (10 * s[0], 10 * s[1], s[2])
)


@settings(max_examples=60, deadline=None)
@given(st.lists(sizes, min_size=1, max_size=7), st.integers(5, 12), st.integers(5, 12), st.booleans())
def test_quick_exact_and_area_never_contradict_each_other(bags, length, width, pack):
    bodies = ((10, 20, 30, 20),) if pack else ()
    place = Plane(10 * length, 10 * width, bodies)
    bags = [bag for bag in bags if max(bag[:2]) <= min(place.length, place.width)]
    exact = fit_exactly(place, bags, Account(Budget(20.0, 1)), 5.0)
    quick = pack_quickly(place, bags)
    sharp = sharpest_area((place.length, place.width), bags, bodies, [side for b in bags for side in b[:2]])
    if quick is not None:
        assert lies_well(place, bags, quick)
        assert exact.rects is not None
    if exact.rects is not None:
        assert lies_well(place, bags, exact.rects)
        assert sharp is None
        for area in grid_areas(place.length, place.width, [side for b in bags for side in b[:2]]):
            taken = sum(area.of(*bag[:2]) for bag in bags) + sum(area.of_body(body) for body in bodies)
            assert taken <= area.room


def test_free_rectangles_are_all_of_the_free_room():
    free = Free((0, 0, 100, 100), ())
    free.take((40, 40, 20, 20))
    assert sorted(free.rects(0)) == [(0, 0, 40, 100), (0, 0, 100, 40), (0, 60, 100, 40), (60, 0, 40, 100)]

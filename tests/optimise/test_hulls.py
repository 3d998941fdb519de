"""Straight cuts: none shuts out what fits, and their bound lies between the best and no bound at all."""

from dataclasses import replace
from functools import lru_cache
from itertools import product

import numpy as np
import pytest
from small import mixed

from ramet.optimise.choose import choose
from ramet.optimise.flats import flat_set
from ramet.optimise.floors import Plane
from ramet.optimise.frontier import Frontier
from ramet.optimise.goals import GOALS, ceiling
from ramet.optimise.greedy import best_start
from ramet.optimise.hulls import Hull
from ramet.optimise.judging import Judge
from ramet.optimise.options import options
from ramet.optimise.packing import FloorLab
from ramet.optimise.problem import Budget
from ramet.optimise.selection import build, goal_expression
from ramet.optimise.solving import Account


def hull_of(plane, kinds):
    found = Frontier.of(plane, kinds)
    assert found is not None
    found.explore(FloorLab(Account(Budget(200.0, 1))), 200.0)
    return Hull(found)


def test_half_a_square_too_many_is_cut_off():
    # four squares of 50 fill 100 x 100
    hull = hull_of(Plane(100, 100), [(50, 50, 0)])
    assert hull.cut(np.array([4.0]), 0) is None
    cut = hull.cut(np.array([4.5]), 0)
    assert cut is not None
    assert 4 * cut.weight((50, 50, 0)) == cut.whole


def test_what_area_lets_in_twice_counts_once_where_only_one_fits():
    # two squares of 60 take 72 % of 100 x 100 and never stand side by side
    cut = hull_of(Plane(100, 100), [(60, 60, 0)]).cut(np.array([1.2]), 0)
    assert cut is not None
    assert cut.weight((60, 60, 0)) == cut.whole


def test_a_larger_bag_weighs_at_least_as_much():
    cut = hull_of(Plane(100, 100), [(40, 40, 0), (60, 60, 0)]).cut(np.array([1.5, 3.0]), 0)
    assert cut is not None
    weights = [cut.weight(bag) for bag in ((39, 100, 0), (40, 40, 0), (45, 40, 0), (60, 60, 0), (70, 65, 0))]
    assert weights[0] == 0
    assert weights == sorted(weights)


def test_no_set_that_fits_weighs_more_than_the_whole():
    hull = hull_of(Plane(110, 80), [(30, 30, 0), (40, 30, 0), (50, 50, 0)])
    rng = np.random.default_rng(1)
    cuts = [hull.cut(rng.uniform(0, 4, len(hull.frontier.kinds)), 0) for _ in range(40)]
    assert any(cuts)
    for cut in filter(None, cuts):
        weights = np.array([cut.weight(kind) for kind in hull.frontier.kinds])
        assert (hull.fullest @ weights).max() <= cut.whole


@lru_cache
def tight(seed):
    """An instance with more than its one box holds, in two layers; cuts, judge, best found, and bounds."""
    p = mixed(seed, 2)
    p = replace(p, bins=p.bins[:1])
    judge = Judge(p, Account(Budget(60.0, 1)))
    able = options(p, all_choices=False)
    judge.explore(able, 60.0)
    best = choose(p, Budget(2.0, 1))
    bounds = []
    for position, goal in enumerate(GOALS[:3]):
        s = build(p, able)
        for earlier, found in zip(GOALS[:position], best.goals, strict=False):
            s.model.add(goal_expression(s, earlier) == found.value)
        bounds.append(judge.tighten(s, goal_expression(s, goal), 60.0))
    return p, judge.hull_cuts, judge, best, bounds


@pytest.mark.parametrize("seed", range(2))
def test_the_bound_without_search_lies_between_the_best_found_and_the_ceiling(seed):
    p, _, _, best, bounds = tight(seed)
    for found, bound in zip(best.goals, bounds, strict=False):
        assert found.value <= bound + 1e-6
        assert bound <= ceiling(p, found.goal) + 1e-6
    assert any(bound < ceiling(p, goal) - 1 for bound, goal in zip(bounds, GOALS, strict=False))


@pytest.mark.parametrize("seed", range(2))
def test_no_packing_that_stands_weighs_more_than_a_cut_allows(seed):
    p, cuts, judge, _, _ = tight(seed)
    able = options(p, all_choices=False)
    assert cuts
    for start, cut in product(range(3), cuts):
        kept = judge.keep(best_start(p, able, start))
        flat = flat_set(p, able, 0, cut.level_mm)
        standing = [bag for i, bag in zip(flat.members, flat.flats, strict=True) if able[i] in kept[0]]
        assert sum(cut.weight(bag) for bag in standing) <= cut.whole

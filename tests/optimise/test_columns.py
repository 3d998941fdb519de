"""Prices bound what all boxes carry: never below a packing, and as low as is known by hand."""

from functools import lru_cache

import pytest
from small import FILLER, WANT, bag, box, item, narrow, problem

from ramet.optimise.choose import choose
from ramet.optimise.columns import Prices, box_kinds
from ramet.optimise.flats import plane_kinds
from ramet.optimise.goals import GOALS, Packing, values
from ramet.optimise.judging import Judge
from ramet.optimise.options import options
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Budget, Line
from ramet.optimise.solving import Account


def prices_of(given, goal, held, rounds=60):
    able = options(given)
    judge = Judge(given, Account(Budget(200.0, 1)))
    judge.lab.table = PlaceTable.of(plane_kinds(given, able))
    judge.explore(able, 200.0)
    kinds = box_kinds(given, able, judge.frontiers, judge.lab.table)
    assert kinds
    prices = Prices(given, kinds, goal, held, lambda _: None)
    left = iter(range(rounds))
    prices.descend(held[GOALS.index(goal)], lambda: True)
    prices.generate(lambda: next(left, None) is not None)
    return prices


@lru_cache(maxsize=8)
def chosen(seed):
    given = narrow(seed)
    return given, choose(given, Budget(10.0, 1))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("goal", GOALS[:3])
def test_the_bound_is_never_below_a_packing_and_cuts_let_its_boxes_through(seed, goal):
    given, result = chosen(seed)
    best = Packing(result.placed, result.boards)
    held = values(given, best)
    prices = prices_of(given, goal, held)
    assert prices.bound >= held[GOALS.index(goal)] - 1e-6
    for cut in prices.cuts:
        for b in cut.bins:
            assert sum(cut.profits[p.item] for p in best.placed if p.bin == b) <= cut.most


def test_two_equal_boxes_of_two_bags_each_carry_the_four_best_of_six():
    # 100 x 50 mm of floor and bags too tall for a board: two squares of 50 a box, so 9 + 8 + 7 + 6
    worths = (9, 8, 7, 6, 5, 4)
    lines = [Line(f"l{k}", FILLER, 1, worth) for k, worth in enumerate(worths)]
    things = [item(f"i{k}", k, bag(50, 50, 90)) for k in range(6)]
    given = problem(lines, things, [box(100, 50, 100, name="a"), box(100, 50, 100, name="b")])
    assert prices_of(given, "fillers", (0, 0, 0)).bound == pytest.approx(30, abs=0.5)


def test_what_a_line_wants_and_what_is_scarce_bound_it_too():
    things = [item(f"i{k}", 0, bag(20, 20, 90), tank=2) for k in range(4)]
    given = problem([Line("a", WANT, 3, 1)], things, [box(100, 50, 100)], tank=5)
    assert prices_of(given, "wants", (0, 0, 0)).bound == pytest.approx(2.5, abs=0.1)

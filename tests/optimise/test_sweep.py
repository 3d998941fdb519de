"""The most that one box carries: a sweep says what trying every set of bags says, by the solver's word."""

from itertools import product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small import FILLER, bag, box, item, narrow, problem

from ramet.optimise.columns import box_kinds
from ramet.optimise.flats import all_levels, membership, plane_kinds
from ramet.optimise.judging import Judge
from ramet.optimise.options import options
from ramet.optimise.packing import fit_exactly
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Body, Budget, Line, Rule
from ramet.optimise.solving import Account
from ramet.optimise.stacking import floor_of


def sweep_of(given):
    able = options(given)
    judge = Judge(given, Account(Budget(200.0, 1)))
    judge.lab.table = PlaceTable.of(plane_kinds(given, able))
    judge.explore(able, 200.0)
    kinds = box_kinds(given, able, judge.frontiers, judge.lab.table)
    return kinds[0].sweep if kinds else None


def lined_up(sizes, blocked=(), soft=(), long=100):
    """One box of 100 x 50 x 100 mm, and a filler of each size; each carries what stands on it."""
    lines = [Line(f"l{k}", FILLER, 1, 1) for k in range(len(sizes))]
    things = [
        item(f"i{k}", k, bag(*size, g=100, carries=5000), soft=k in soft) for k, size in enumerate(sizes)
    ]
    return problem(lines, things, [box(long, 50, 100, blocked=blocked)], frozenset(Rule))


def most_by_trying(given, profit):
    """Try every set of items, each on floor or board, and ask the solver for places."""
    able = options(given)
    ways = [[None, *(o for o in able if o.item == i)] for i in range(len(given.items))]
    belongs = membership(given, able, 0)
    best = 0.0
    for chosen in product(*ways):
        here = [o for o in chosen if o is not None]
        worth = sum(profit[o.item] for o in here)
        if worth <= best or sum(o.mass_g for o in here) > given.bins[0].max_contents_g:
            continue
        plane, flats = floor_of(given, here)
        groups = [[k for k, o in enumerate(here) if belongs(o, z)] for z in all_levels(given, here)]
        fit = fit_exactly(plane, flats, Account(Budget(20.0, 1)), 5.0, [g for g in groups if g])
        if fit.rects is not None:
            best = worth
    return best


def test_two_low_bags_stand_over_two_others_and_tall_ones_do_not():
    # 100 mm of height: 45 + a board of 5 + 45 fit over each other, 50 + 5 + 50 do not; two on a floor
    low, tall = lined_up([(50, 50, 45)] * 4), lined_up([(50, 50, 50)] * 4)
    assert sweep_of(low).most(np.ones(4), 0.0, 5.0).profit == 4
    assert sweep_of(tall).most(np.ones(4), 0.0, 5.0).profit == 2


def test_an_item_counts_once_though_it_may_go_in_two_ways():
    sweep = sweep_of(lined_up([(50, 50, 45), (50, 50, 45)]))
    profit = np.array([7.0, 1.0])
    assert sweep.relaxed(profit)[0] >= 8
    assert sweep.most(profit, 0.0, 5.0).profit == 8
    assert sweep.most(profit, 0.0, 5.0).bound == 8


def test_nothing_is_found_above_a_cut_that_is_too_high():
    priced = sweep_of(lined_up([(50, 50, 45)] * 4)).most(np.ones(4), 4.0, 5.0)
    assert priced.ways == ()
    assert priced.bound == 4


def test_three_layers_are_not_swept():
    given = lined_up([(50, 50, 20)] * 4)
    choice = given.items[0].choices[0]
    three = [item("high", 0, type(choice)(choice.size_mm, 100, 600, 5000, None, 3))]
    assert sweep_of(problem(given.lines, three, given.bins)) is None


sizes = st.tuples(
    st.sampled_from((30, 40, 50)), st.sampled_from((30, 50)), st.integers(4, 9).map(lambda h: 10 * h)
)


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.lists(sizes, min_size=2, max_size=5),
    st.booleans(),
    st.lists(st.integers(1, 9), min_size=5, max_size=5),
)
def test_a_sweep_says_what_trying_everything_says(drawn, pack, worths):
    given = lined_up(drawn, (Body((20, 0, 70), (40, 40, 30)),) if pack else ())
    profit = np.array(worths[: len(drawn)], dtype=np.float64)
    sweep = sweep_of(given)
    priced = sweep.most(profit, 0.0, 5.0)
    assert priced.profit == most_by_trying(given, profit)
    assert priced.bound == priced.profit
    assert sweep.relaxed(profit)[0] >= priced.profit - 1e-9


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    st.lists(sizes, min_size=4, max_size=6),
    st.sets(st.integers(0, 5), max_size=4),
    st.lists(st.integers(1, 9), min_size=6, max_size=6),
)
def test_soft_bags_over_others_are_told_from_bags_over_soft_ones(drawn, soft, worths):
    given = lined_up(drawn, (), soft, 130)
    profit = np.array(worths[: len(drawn)], dtype=np.float64)
    priced = sweep_of(given).most(profit, 0.0, 5.0)
    assert priced.profit == most_by_trying(given, profit)
    assert priced.bound == priced.profit


@pytest.mark.parametrize("seed", range(3))
def test_a_walk_that_is_cut_short_bounds_what_it_left(seed):
    given = narrow(seed)
    profit = np.array([1.0 + k % 5 for k in range(len(given.items))])
    sweep = sweep_of(given)
    whole = sweep.most(profit, 0.0, 30.0)
    short = sweep_of(given).most(profit, 0.0, 1e-6)
    assert short.profit <= whole.profit <= whole.bound <= short.bound + 1e-9


@pytest.mark.parametrize("rule_on", [True, False])
def test_a_soft_coral_over_another_class_counts_only_where_the_rule_is_off(rule_on):
    # Two places on the floor. Over a stony bag: 50 + 5 + 45 mm, and a soft one alone is low enough. Over the
    # soft bag, which bears nothing and keeps 5 mm free: 45 + 5 + 5 + 50 mm is too high for a stony one.
    stony = [item(f"s{k}", k, bag(50, 50, 50, g=100, carries=5000)) for k in range(2)]
    soft = item("c", 2, bag(50, 50, 45, g=100), soft=True)
    rules = frozenset(Rule) if rule_on else frozenset(Rule) - {Rule.SOFT_NEVER_ABOVE}
    lines = [Line(f"l{k}", FILLER, 1, 1) for k in range(3)]
    given = problem(lines, [*stony, soft], [box(100, 50, 100)], rules)
    assert sweep_of(given).most(np.ones(3), 0.0, 5.0).profit == (2 if rule_on else 3)


def test_of_one_strain_one_box_of_several_leaves_a_piece_to_another():
    # room for four low bags in each box: three of the four of one strain, for the fourth rides elsewhere
    lines = [Line("a", FILLER, 4, 1)]
    things = [item(f"i{k}", 0, bag(50, 50, 45, g=100, carries=5000), strain="one") for k in range(4)]
    boxes = [box(100, 50, 100, name="a"), box(100, 50, 100, name="b")]
    several = problem(lines, things, boxes, frozenset(Rule))
    assert sweep_of(several).most(np.ones(4), 0.0, 5.0).profit == 3
    free = problem(lines, things, boxes, frozenset(Rule) - {Rule.SPREAD_STRAINS})
    assert sweep_of(free).most(np.ones(4), 0.0, 5.0).profit == 4


def test_each_way_that_is_found_carries_the_profit_it_is_known_by():
    dice = np.random.default_rng(3)
    given = narrow(5)
    profit = dice.uniform(0.0, 9.0, len(given.items))
    priced = sweep_of(given).most(profit, 0.0, 5.0)
    worths = [sum(profit[option.item] for option in way) for way in priced.ways]
    assert max(worths) == pytest.approx(priced.profit)
    assert all(len({option.item for option in way}) == len(way) for way in priced.ways)

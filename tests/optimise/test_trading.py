"""Trading between boxes never loses, keeps every rule, repeats itself, and undoes a greedy start."""

import numpy as np
import pytest
from judge import faults, faults_of_the_set
from small import FILLER, MUST, WANT, bag, box, item, mixed, narrow, ok_small, problem

from ramet.optimise.flats import plane_kinds
from ramet.optimise.goals import Packing, rank_key, values
from ramet.optimise.greedy import best_start
from ramet.optimise.judging import Judge
from ramet.optimise.kernels import HELD, MISFIT, find_places
from ramet.optimise.options import options
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Budget, Line, Placed, Result, Rule
from ramet.optimise.solving import Account
from ramet.optimise.trade_kernels import clashes, may_fit
from ramet.optimise.trading import limits_of, traded, ways_of


def trade(given, start, seed=1, seconds=0.2, hold=None, account=None, enough=10**6):
    able = options(given)
    account = account or Account(Budget(20.0, seed))
    judge = Judge(given, account)
    table = judge.lab.table = PlaceTable.of(plane_kinds(given, able))
    fill = hold or (lambda here: judge.hold(able, here))
    return traded(given, able, table, "fillers", enough, start, account, seed, seconds, fill)


def geometry_faults(given, packing):
    result = Result(packing.placed, packing.boards, (), False)
    return [fault for fault in faults(given, result) if "goal" not in fault]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("layers", [1, 2])
def test_a_packing_only_gets_better_keeps_every_rule_and_comes_again(seed, layers):
    given = mixed(seed, layers)
    start = best_start(given, options(given), seed, starts=1)
    better = trade(given, start, seed)
    assert rank_key(values(given, better))[:3] >= rank_key(values(given, start))[:3]
    assert geometry_faults(given, better) == []
    assert trade(given, start, seed) == better


def test_a_greedy_mistake_is_undone():
    # Floor 200 x 100: the big filler (15) blocks two little ones (20 together); by hand, 1 must and 1 little
    given = ok_small()
    alone = Packing((Placed(0, 0, 0, (0, 0, 0), (100, 100, 90)),), ())
    assert values(given, trade(given, alone))[:3] == (1, 0, 10)


def test_it_starts_from_nothing():
    assert values(ok_small(), trade(ok_small(), Packing()))[:3] == (1, 0, 10)


def test_of_items_with_a_common_piece_one_goes():
    lines = [Line("a", WANT, 9, 1)]
    things = [
        item("one", 0, bag(100, 100, 90), pieces=("p",)),
        item("two", 0, bag(100, 100, 90), pieces=("q",)),
        item("both", 0, bag(100, 100, 90), pieces=("p", "q", "r")),
    ]
    given = problem(lines, things, [box(200, 100, 100)])
    packing = trade(given, Packing())
    assert values(given, packing)[:3] == (0, 3, 0)
    assert faults_of_the_set(given, Result(packing.placed, (), (), False)) == []


def test_what_is_scarce_is_used_up_to_its_cap():
    things = [item(f"i{k}", 0, bag(50, 50, 90), tank=2) for k in range(4)]
    given = problem([Line("a", FILLER, 4, 5)], things, [box(200, 100, 100)], tank=5)
    assert values(given, trade(given, Packing()))[:3] == (0, 0, 10)


def test_two_musts_do_not_ride_in_one_of_two_boxes():
    things = [item(f"i{k}", 0, bag(50, 50, 90)) for k in range(2)] + [item("f", 1, bag(50, 50, 90))]
    lines = [Line("m", MUST, 2, 1), Line("f", FILLER, 1, 5)]
    boxes = [box(200, 100, 100, name="b1"), box(200, 100, 100, name="b2")]
    packing = trade(problem(lines, things, boxes), Packing())
    assert len({p.bin for p in packing.placed if p.item < 2}) == 2
    loose = trade(problem(lines, things, boxes, frozenset(Rule) - {Rule.SPREAD_MUSTS}), Packing())
    assert len(loose.placed) == 3


def test_a_box_that_cannot_be_filled_with_boards_is_left_aside():
    given = mixed(1, 2)
    start = best_start(given, options(given), 1, starts=1)
    assert trade(given, start, hold=lambda here: None) == start


def test_a_search_that_is_stopped_keeps_what_it_has():
    given = mixed(1, 2)
    start = best_start(given, options(given), 1, starts=1)
    stopped = Account(Budget(20.0, 1), should_stop=lambda: True)
    assert trade(given, start, account=stopped) == start


def test_what_known_sets_rule_out_has_no_places_and_what_has_places_they_let_pass():
    given = narrow(2)
    able = options(given)
    judge = Judge(given, Account(Budget(200.0, 1)))
    judge.lab.table = PlaceTable.of(plane_kinds(given, able))
    judge.explore(able, 200.0)
    table = judge.lab.table
    ways, limits = ways_of(given, able, table), limits_of(given)
    here = [k for k, option in enumerate(able) if option.bin == 0]
    dice = np.random.default_rng(7)
    ruled_out = held = 0
    for _ in range(2000):
        drawn = dice.permutation(here)[: dice.integers(2, 9)]
        taken = np.array(list({able[k].item: k for k in drawn}.values()))
        places = find_places(
            ways.kind[taken], clashes(taken, ways, limits.soft_never_above), table.grid, 10**7
        )
        held += places[0] == HELD
        if not may_fit(taken, ways, table.flats, np.empty((2, len(taken)), dtype=np.int64)):
            ruled_out += 1
            assert places[0] == MISFIT
    assert ruled_out > 100
    assert held > 100


def test_it_ends_where_the_goal_has_enough():
    account = Account(Budget(20.0, 1))
    given = ok_small()
    found = trade(given, Packing(), seconds=5.0, account=account, enough=10)
    assert values(given, found)[2] >= 10
    assert account.spent_s < 1.0


def test_two_of_a_strain_in_one_box_part_when_a_second_box_is_used():
    lines = [Line("w", WANT, 2, 1), Line("f", FILLER, 1, 1)]
    things = [
        item("a", 0, bag(50, 100, 50), strain="s"),
        item("b", 0, bag(50, 100, 50), strain="s"),
        item("c", 1, bag(100, 100, 50)),
    ]
    given = problem(lines, things, [box(100, 100, 60, name="one"), box(100, 100, 60, name="two")])
    together = Packing(
        (Placed(0, 0, 0, (0, 0, 0), (50, 100, 50)), Placed(1, 0, 0, (50, 0, 0), (50, 100, 50))), ()
    )
    assert geometry_faults(given, trade(given, together)) == []

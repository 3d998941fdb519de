"""Boxes filled one after another at prices: packings that keep every rule, up to the best there is."""

from functools import partial

import pytest
from judge import faults
from small import FILLER, bag, box, item, narrow, problem

from ramet.optimise.columns import Prices, box_kinds
from ramet.optimise.filling import Filling
from ramet.optimise.flats import plane_kinds
from ramet.optimise.goals import Packing, values
from ramet.optimise.judging import Judge
from ramet.optimise.options import options
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Budget, Line, Result
from ramet.optimise.solving import Account


def filled(given, goal="fillers", held=(0, 0, 0), seconds=4.0):
    """Return the packings that were found from nothing, and the bound."""
    able = options(given)
    account = Account(Budget(200.0, 1))
    judge = Judge(given, account)
    judge.lab.table = PlaceTable.of(plane_kinds(given, able))
    judge.explore(able, 200.0)
    kinds = box_kinds(given, able, judge.frontiers, judge.lab.table)
    root = Prices(given, kinds, goal, held, account.charge)
    filling = Filling(root, partial(judge.hold, able), account, 0)
    found: list[Packing] = []
    filling.run(account.spent_s + seconds, lambda: True, found.append, account.charge)
    return found, filling.bound


def test_two_boxes_take_the_four_best_of_six():
    # 100 x 50 mm of floor and bags too tall for a board: two squares of 50 a box, so 9 + 8 + 7 + 6
    lines = [Line(f"l{k}", FILLER, 1, worth) for k, worth in enumerate((9, 8, 7, 6, 5, 4))]
    things = [item(f"i{k}", k, bag(50, 50, 90)) for k in range(6)]
    given = problem(lines, things, [box(100, 50, 100, name="a"), box(100, 50, 100, name="b")])
    found, bound = filled(given)
    assert values(given, found[-1])[2] == 30
    assert bound == pytest.approx(30, abs=0.99)


@pytest.mark.parametrize("seed", range(4))
def test_each_packing_keeps_every_rule_and_carries_more_than_the_one_before(seed):
    given = narrow(seed)
    found, bound = filled(given, "musts")
    assert found
    carried = [values(given, packing)[0] for packing in found]
    assert carried == sorted(set(carried))
    assert carried[-1] <= bound + 1e-6
    for packing in found:
        result = Result(packing.placed, packing.boards, (), False)
        assert [fault for fault in faults(given, result) if "goal" not in fault] == []


def test_earlier_goals_stay_where_they_are():
    given = narrow(2)
    musts = values(given, filled(given, "musts")[0][-1])[0]
    found, _ = filled(given, "wants", (musts, 0, 0))
    assert found
    assert all(values(given, packing)[0] == musts for packing in found)


def test_it_comes_again_the_same():
    assert filled(narrow(3), "musts") == filled(narrow(3), "musts")

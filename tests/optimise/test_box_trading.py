"""Trading in one box: ways with places, never above what the sweep proves, and again the same."""

import numpy as np
import pytest
from small import narrow

from ramet.optimise.box_trading import BoxTrader
from ramet.optimise.columns import box_kinds
from ramet.optimise.flats import plane_kinds
from ramet.optimise.judging import Judge
from ramet.optimise.options import options
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Budget
from ramet.optimise.solving import Account


def set_up(seed):
    given = narrow(seed)
    able = options(given)
    judge = Judge(given, Account(Budget(200.0, 1)))
    table = judge.lab.table = PlaceTable.of(plane_kinds(given, able))
    judge.explore(able, 200.0)
    sweep = box_kinds(given, able, judge.frontiers, table)[0].sweep
    profit = np.random.default_rng(seed).uniform(-3.0, 9.0, len(given.items))
    return given, able, judge, table, sweep, profit


@pytest.mark.parametrize("seed", range(4))
def test_ways_bring_nearly_what_is_proven_to_be_the_most_and_never_more(seed):
    given, able, _, table, sweep, profit = set_up(seed)
    ways, _ = BoxTrader.of(given, able, 0, table).look(profit, ())
    best = max(sum(profit[option.item] for option in way) for way in ways)
    most = sweep.most(profit, 0.0, 20.0).bound
    assert 0.8 * most <= best <= most + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_ways_take_what_brings_profit_and_mostly_hold_with_boards(seed):
    given, able, judge, table, _, profit = set_up(seed)
    ways, _ = BoxTrader.of(given, able, 0, table).look(profit, ())
    assert all(profit[option.item] > 0 for way in ways for option in way)
    held = [judge.hold(able, way) is not None for way in ways]
    assert sum(held) >= 0.5 * len(held)


@pytest.mark.parametrize("seed", range(4))
def test_from_a_good_way_it_goes_on_to_one_that_is_no_worse(seed):
    given, able, _, table, sweep, profit = set_up(seed)
    best = sweep.most(profit, 0.0, 20.0)
    way = max(best.ways, key=lambda way: sum(profit[option.item] for option in way))
    ways, _ = BoxTrader.of(given, able, 0, table).look(profit, [way])
    worth = max(sum(profit[option.item] for option in way) for way in ways)
    assert worth == pytest.approx(best.profit, abs=0.1)


def test_it_comes_again_the_same():
    given, able, _, table, _, profit = set_up(1)
    traders = [BoxTrader.of(given, able, 0, table) for _ in range(2)]
    for _ in range(2):
        first, second = (trader.look(profit, ()) for trader in traders)
        assert first == second

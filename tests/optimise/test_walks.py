"""The search behind a sweep: what it says does not depend on how it goes about it."""

import numpy as np
import pytest
from small import narrow
from test_sweep import sweep_of

from ramet.optimise.sweep_kernels import sweep_values
from ramet.optimise.walk_kernels import SHARED_AT
from ramet.optimise.walks import Search


def search_of(given, profit, cut=0.0, **settings):
    """Return what a search says with nothing softened: the best, a bound, and the items of the best ways."""
    sweep = sweep_of(given)
    events, values = sweep._events(profit)
    sweep_values(profit[events.item], events, sweep.states, values)
    search = Search(
        profit, cut, np.zeros(len(profit)), values, events, sweep.states, sweep.table.grid, sweep.most_g,
        sweep.memory[0], 10**10, **settings,
    )  # fmt: skip
    bound = search.run(float(values[0, sweep.states.starts].max()))
    return search.best, bound, [events.item[way] for way in search.ways()]


def profits(given, seed):
    return np.random.default_rng(seed).integers(1, 40, len(given.items)).astype(np.float64)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("nodes", [1, 7, 50])
def test_a_search_that_tells_few_ways_apart_says_the_same(seed, nodes):
    given = narrow(seed)
    profit = profits(given, seed)
    best, bound, _ = search_of(given, profit)
    assert bound == best
    assert search_of(given, profit, nodes=nodes)[:2] == pytest.approx((best, bound))


@pytest.mark.parametrize("seed", range(4))
def test_the_best_way_takes_each_item_once_and_is_worth_what_is_said(seed):
    given = narrow(seed)
    profit = profits(given, seed)
    best, _, ways = search_of(given, profit)
    assert all(len(set(way)) == len(way) for way in ways)
    assert max(profit[way].sum() for way in ways) == best


@pytest.mark.parametrize("seed", range(4))
def test_a_cut_below_the_best_changes_nothing_and_one_above_finds_nothing(seed):
    given = narrow(seed)
    profit = profits(given, seed)
    best = search_of(given, profit)[0]
    assert search_of(given, profit, best - 0.5)[:2] == (best, best)
    assert search_of(given, profit, best + 0.5)[:2] == (best + 0.5, best + 0.5)


@pytest.mark.parametrize("seed", range(3))
def test_every_set_above_a_cut_is_one_that_no_better_prices_tell_otherwise(seed):
    # whatever set is named, the search finds it again alone; and none of those it finds alone is missing
    given = narrow(seed)
    profit = profits(given, seed)
    sweep = sweep_of(given)
    best = sweep.most(profit, 0.0, 10.0).profit
    sets, _ = sweep.every(profit, best - 12.5, 10.0)
    named = {frozenset(k for k in range(len(profit)) if int(one) >> k & 1) for one in sets}
    assert named
    assert max(sum(profit[k] for k in one) for one in named) == best
    everything = list(range(len(profit)))
    dice = np.random.default_rng(seed)
    near = [one ^ {int(dice.choice(everything))} for one in sorted(named, key=sorted)[:40]]
    for one in [*sorted(named, key=sorted)[:40], *near]:
        worth = sum(profit[k] for k in one)
        alone = np.where(np.isin(everything, sorted(one)), 1.0, -1.0)
        holds = bool(one) and sweep.most(alone, len(one) - 0.5, 10.0).profit == len(one)
        assert (one in named) == (holds and worth > best - 12.5)


@pytest.mark.parametrize("seed", range(3))
def test_those_who_share_a_search_find_each_set_between_them(seed):
    # in boxes of more bags than they part ways at
    given = narrow(seed, items=9)
    profit = profits(given, seed)
    sweep = sweep_of(given)
    events, values = sweep._events(profit)
    sweep_values(profit[events.item], events, sweep.states, values)

    def found(*share):
        search = Search(
            profit, 0.0, np.zeros(len(profit)), values, events, sweep.states, sweep.table.grid, sweep.most_g,
            sweep.memory[0], 10**10, sets=1 << 14, share=share,
        )  # fmt: skip
        return set(search.every(lambda: True).tolist()), search.words

    (alone, words), (first, fewer), (second, others) = found(0, 1), found(0, 2), found(1, 2)
    assert first | second == alone
    assert max(int(one).bit_count() for one in alone) > SHARED_AT
    assert max(fewer, others) < words


def test_sets_are_not_named_where_that_takes_longer_than_it_may():
    given = narrow(0)
    assert sweep_of(given).every(profits(given, 0), 0.0, 1e-7)[0] is None

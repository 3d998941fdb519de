"""What prices leave open is closed by every way that could do better: it says what trying all says."""

from itertools import product

import numpy as np
import pytest
from small import FILLER, bag, box, item, narrow, problem
from test_columns import prices_of

from ramet.optimise.closing import close, lowest
from ramet.optimise.goals import GOALS, item_value, rank_of
from ramet.optimise.options import weight
from ramet.optimise.problem import Line


def every_set(prices):
    """Return all sets of items that a box may carry, for each kind, as sets."""
    everything = np.where(prices.able, 1.0, -1.0)
    found = []
    for kind in prices.kinds:
        sets, _ = kind.sweep.every(everything, 0.5, 60.0)
        bits = range(len(everything))
        found.append([frozenset(), *(frozenset(k for k in bits if int(one) >> k & 1) for one in sets)])
    return found


def most_by_trying(given, prices, goal):
    """Try every set in every box, and return the most that they carry with the earlier goals held."""
    slots = [sets for kind, sets in zip(prices.kinds, every_set(prices), strict=True) for _ in kind.bins]
    best = -1
    for chosen in product(*slots):
        items = frozenset().union(*chosen)
        if sum(map(len, chosen)) > len(items):
            continue
        best = max(best, worth(given, items, goal, prices.held))
    return best


def worth(given, items, goal, held):
    """Return what items carry for a goal; -1 where they break a line, or are not what is held."""
    for number, line in enumerate(given.lines):
        if sum(weight(given, i) for i in items if given.items[i].line == number) > line.wanted:
            return -1
    carried = [sum(item_value(given, i) for i in items if rank_of(given, i) == r) for r in range(3)]
    rank = GOALS.index(goal)
    return carried[rank] if carried[:rank] == list(held[:rank]) else -1


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("below", [1, 3, 50])
def test_it_says_what_trying_all_sets_says(seed, below):
    given = narrow(seed, items=7)
    prices = prices_of(given, "fillers", (0, 0, 0))
    truth = most_by_trying(given, prices, "fillers")
    asked = max(0, truth - below)
    closed = close(prices, asked, 20.0)
    if closed is not None:
        assert closed.value == truth
        assert bool(closed.ways) == (truth > asked)
        items = [i for _, pattern in closed.ways for i in pattern]
        assert len(items) == len(set(items))


def four_of_six():
    # 100 x 50 mm of floor and bags too tall for a board: two squares of 50 a box, so 9 + 8 + 7 + 6 and not 31
    worths = (9, 8, 7, 6, 5, 4)
    lines = [Line(f"l{k}", FILLER, 1, worth) for k, worth in enumerate(worths)]
    things = [item(f"i{k}", k, bag(50, 50, 90)) for k in range(6)]
    given = problem(lines, things, [box(100, 50, 100, name="a"), box(100, 50, 100, name="b")])
    return prices_of(given, "fillers", (0, 0, 0))


def items_of(closed):
    return sorted(i for _, pattern in closed.ways for i in pattern)


def test_a_bound_in_fractions_closes_to_what_goes():
    prices = four_of_six()
    assert close(prices, 30, 5.0).value == 30
    closed = close(prices, 29, 5.0)
    assert closed.value == 30
    assert items_of(closed) == [0, 1, 2, 3]


def test_ways_that_were_found_for_a_bound_better_what_is_known():
    prices = four_of_six()
    prices.bound += 2.0  # as if prices had been looked for no longer
    closed = close(prices, 30, 5.0, known=28)
    assert closed.value == 30
    assert items_of(closed) == [0, 1, 2, 3]
    assert not close(prices, 30, 5.0, known=30).ways


def test_it_says_nothing_where_time_is_too_short_or_items_too_many():
    prices = prices_of(narrow(1), "fillers", (0, 0, 0))
    assert close(prices, 0, 1e-7) is None
    prices.worth = np.ones(65)
    assert close(prices, 0, 20.0) is None


@pytest.mark.parametrize("item_number", [0, 1, 31, 32, 63])
def test_the_lowest_item_of_a_set_is_found(item_number):
    assert lowest(np.uint64(2**63 | 1 << item_number)) == item_number

"""Known ways put together: the best of all choices of one way a box, though ways overlap."""

from itertools import combinations

import pytest
from small import FILLER, MUST, bag, box, item, narrow, problem
from test_closing import worth
from test_columns import prices_of

from ramet.optimise.problem import Line
from ramet.optimise.together import best_together


def best_by_trying(given, prices, goal):
    """Return the most that any choice of known ways carries, whatever of it goes."""
    best = -1
    known = [*prices.known.ways[0], *(() for _ in prices.kinds[0].bins)]
    for chosen in combinations(known, len(prices.kinds[0].bins)):
        inside = sorted({i for pattern in chosen for i in pattern})
        best = max(
            best,
            *(
                worth(given, part, goal, prices.held)
                for count in range(len(inside) + 1)
                for part in combinations(inside, count)
            ),
        )
    return best


@pytest.mark.parametrize("seed", range(5))
def test_it_finds_the_best_of_all_choices(seed):
    given = narrow(seed, items=10)
    prices = prices_of(given, "fillers", (0, 0, 0), rounds=8)
    prices.hope()
    truth = best_by_trying(given, prices, "fillers")
    found = best_together(prices, truth, ())
    assert worth(given, found.items, "fillers", prices.held) == truth
    assert found.items <= {i for _, pattern in found.ways for i in pattern}
    assert best_together(prices, truth + 1, ()) is None


def test_what_is_banned_is_not_found_again():
    given = narrow(2, items=8)
    prices = prices_of(given, "fillers", (0, 0, 0), rounds=8)
    prices.hope()
    marks = []
    while (found := best_together(prices, 1, marks)) is not None and len(marks) < 20:
        assert found.mark not in marks
        marks.append(found.mark)
    assert len(marks) > 1


def test_an_earlier_goal_stays_where_it_is():
    # one box of two squares: the must takes one, so the better filler has the other
    lines = [Line("m", MUST, 1, 1), Line("a", FILLER, 1, 9), Line("b", FILLER, 1, 7)]
    things = [item(f"i{k}", k, bag(50, 50, 90)) for k in range(3)]
    given = problem(lines, things, [box(100, 50, 100)])
    prices = prices_of(given, "fillers", (1, 0, 0))
    prices.hope()
    found = best_together(prices, 1, ())
    assert found.items == {0, 1}

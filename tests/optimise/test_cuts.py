"""What a box that can't be filled teaches: the widest roles of its bags, and what they rule out."""

import pytest
from small import WANT, bag, box, item, problem

from ramet.optimise.cuts import forbid_roles, roles
from ramet.optimise.options import options
from ramet.optimise.problem import Budget, Line
from ramet.optimise.selection import build
from ramet.optimise.solving import Account


def pair(low_mm, high_mm):
    """Two bags of 60 x 60 in a box of 100 x 100 x 100: one over the other or not at all; and a flat one."""
    things = [item("low", 0, bag(60, 60, low_mm, carries=9000)), item("high", 0, bag(60, 60, high_mm))]
    things.append(item("flat", 0, bag(60, 60, 20, carries=9000)))
    p = problem([Line("w", WANT, 3, 1)], things, [box(100, 100, 100)], frozenset())
    able = options(p)
    return p, able, [o for o in able if o.item < 2 and o.upper == (o.item == 1)]


def test_roles_are_as_wide_as_the_heights_that_clash():
    # a board of 5 mm over the low bag of 60, and 50 above it: 115 > 100
    p, _, bags = pair(60, 50)
    low, high = sorted(roles(p, bags, soft_matters=False), key=lambda role: role.upper)
    assert (low.limit_mm, high.limit_mm) == (46, 45)


@pytest.mark.parametrize(("low_mm", "high_mm", "out"), [(46, 50, True), (60, 60, True), (45, 50, False)])
def test_what_clashes_as_much_is_ruled_out_and_what_clashes_less_is_not(low_mm, high_mm, out):
    p, _, bags = pair(60, 50)
    learned = roles(p, bags, soft_matters=False)
    other, able, both = pair(low_mm, high_mm)
    s = build(other, able)
    forbid_roles(s, p.bins[0], learned)
    for option in both:
        s.model.add(s.take[able.index(option)] == 1)
    answer = Account(Budget(10.0, 1)).solve(s.model, 5.0)
    assert answer is not None
    assert (answer.verdict == "infeasible") == out

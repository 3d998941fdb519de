"""Parts of walks are one when places can't tell them apart: by what joined over which floor bags."""

import numpy as np
from test_sweep import lined_up, sweep_of

from ramet.optimise.walk_places import key_after, start_key

# A box of 150 mm with three bags of one size on its floor, or two and one over them.
LEAVES, JOINS, SOFT_LEAVES = "hard floor bag", "upper bag", "soft floor bag"


def key_of(*steps):
    sweep = sweep_of(lined_up([(50, 50, 45)] * 4, long=150))
    states, kind = sweep.states, int(sweep.kind[0])
    kinds = states.salt.shape[0]
    start = next(s for s in states.starts if states.floors[s].sum() == 3)
    state, key, hard = int(start), start_key(int(start)), np.uint64(0)
    for step in steps:
        slot = kind + kinds * {LEAVES: 0, JOINS: 1, SOFT_LEAVES: 2}[step]
        key, hard = key_after(key, hard, slot, state, states)
        state = int(states.after[state, slot % (2 * kinds)])
    return int(key), int(hard)


def test_floor_bags_that_leave_with_nothing_between_them_may_leave_in_any_order():
    assert key_of(LEAVES, SOFT_LEAVES, JOINS) == key_of(SOFT_LEAVES, LEAVES, JOINS)


def test_an_upper_bag_is_told_from_one_that_joins_when_more_have_left():
    assert key_of(SOFT_LEAVES, JOINS, SOFT_LEAVES) != key_of(SOFT_LEAVES, SOFT_LEAVES, JOINS)


def test_a_hard_bag_that_leaves_before_another_joins_is_told_from_one_that_leaves_after():
    # a soft bag that comes later stands beside the hard one: under the one that joined, or next to it
    assert key_of(LEAVES, JOINS, SOFT_LEAVES) != key_of(SOFT_LEAVES, JOINS, LEAVES)

"""Sensitive bags off the walls: the inner places go to them, as far as the rules of packing let them."""

from dataclasses import replace

import pytest
from judge import faults
from small import WANT, bag, box, item, mixed, problem

from ramet.optimise.choose import choose
from ramet.optimise.goals import Packing
from ramet.optimise.problem import Budget, Line, Placed, Result
from ramet.optimise.walls import NEAR_MM, at_wall, sensitive_inwards, swapped


def two(at_wall_mm: int, **inner) -> tuple:
    """A sensitive bag so far from a wall, and a like one in the middle of the box."""
    items = [
        replace(item("a", 0, bag(100, 100, 90)), sensitive=True),
        item("b", 0, bag(100, 100, inner.get("high", 90))),
    ]
    p = problem([Line("w", WANT, 2, 1)], items, [box(400, 300, 100, blocked=inner.get("blocked", ()))])
    placed = (
        Placed(0, 0, 0, (at_wall_mm, 100, 0), (100, 100, 90)),
        Placed(1, 0, 0, (150, 100, 0), (100, 100, inner.get("high", 90))),
    )
    return p, Packing(placed, ())


def test_a_sensitive_bag_changes_places_with_an_inner_one():
    p, packing = two(0)
    assert [one.at_mm for one in sensitive_inwards(p, packing).placed] == [(150, 100, 0), (0, 100, 0)]


def test_a_bag_that_is_shifted_a_little_off_the_wall_still_stands_at_it():
    for away in (1, NEAR_MM - 1):
        p, packing = two(away)
        assert sensitive_inwards(p, packing).placed[0].at_mm == (150, 100, 0)
    p, packing = two(NEAR_MM)
    assert sensitive_inwards(p, packing) == packing


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("layers", [1, 2])
def test_no_exchange_that_keeps_the_rules_is_left(seed, layers):
    p = mixed(seed, layers)
    items = tuple(replace(one, sensitive=k % 3 == 0) for k, one in enumerate(p.items))
    p = replace(p, items=items)
    result = choose(p, Budget(0.2, seed))
    assert faults(p, result) == []
    for bag_ in result.placed:
        if not (p.items[bag_.item].sensitive and at_wall(p, bag_)):
            continue
        for inner in result.placed:
            alike = sorted(inner.size_mm[:2]) == sorted(bag_.size_mm[:2]) and inner.at_mm[2] == bag_.at_mm[2]
            free = not p.items[inner.item].sensitive and not at_wall(p, inner)
            if inner.bin == bag_.bin and alike and free:
                changed = Result(
                    tuple(swapped(result.placed, bag_, inner)), result.boards, result.goals, False
                )
                assert faults(p, changed)

"""Flat sets and boards: who can't be over whom, and boards under bags whose places are given."""

from itertools import combinations

import pytest
from judge import faults
from small import WANT, bag, box, item, mixed, problem

from ramet.optimise.flats import SOFT, body_mask, flat_set, levels
from ramet.optimise.options import option_of, options
from ramet.optimise.pads import on_pads
from ramet.optimise.problem import Body, Line, Result


@pytest.mark.parametrize("seed", range(3))
def test_no_two_of_a_flat_set_could_be_over_each_other(seed: int) -> None:
    p = mixed(seed, layers=2)
    able = options(p)
    for level in set(levels(p, able, 0)) - {SOFT}:
        members = [able[i] for i in flat_set(p, able, 0, level).members]
        for one, other in combinations(members, 2):
            low, high = sorted((one, other), key=lambda o: o.upper)
            if high.upper and not low.upper:
                assert low.under_board_mm + p.board_mm + high.size_mm[2] > high.top_mm


def stack(*places: tuple[int, int, int, int], carries: tuple[int, ...]) -> Result | None:
    """Two bags on the floor and one on a board, seen from above at these places, in one box of 300 x 100."""
    items = [item(f"i{k}", 0, bag(100, 100, 50, g=500, carries=carry)) for k, carry in enumerate(carries)]
    p = problem([Line("w", WANT, 3, 1)], items, [box(300, 100, 120)])
    bags = [option_of(p, k, 0, 0, k == 2) for k in range(3)]
    held = on_pads(p, bags, places)
    if held is None:
        return None
    result = Result(held.placed, held.boards, (), False)
    assert [fault for fault in faults(p, result) if "goals" not in fault] == []
    return result


def test_a_bag_over_another_gets_a_board_of_its_own_size() -> None:
    held = stack((0, 0, 100, 100), (100, 0, 100, 100), (0, 0, 100, 100), carries=(900, 900, 0))
    assert held is not None
    assert [(board.z_mm, board.rect) for board in held.boards] == [(50, (0, 0, 100, 100))]


def test_a_bag_over_nothing_stands_on_the_floor() -> None:
    held = stack((0, 0, 100, 100), (100, 0, 100, 100), (200, 0, 100, 100), carries=(900, 900, 0))
    assert held is not None
    assert held.boards == ()
    assert held.placed[2].at_mm == (200, 0, 0)


def test_a_board_over_a_fragile_bag_reaches_to_the_next_that_bears() -> None:
    held = stack((0, 0, 100, 100), (100, 0, 100, 100), (0, 0, 100, 100), carries=(0, 900, 0))
    assert held is not None
    assert [(board.z_mm, board.rect) for board in held.boards] == [(55, (0, 0, 200, 100))]


def test_nothing_bears_what_is_too_heavy() -> None:
    assert stack((0, 0, 100, 100), (100, 0, 100, 100), (0, 0, 100, 100), carries=(0, 300, 0)) is None


def two_boards(*, on_each_g: int) -> Result | None:
    """A bag of 200 x 100 on the floor that carries 1500 g, and two of 100 x 100 over it on boards."""
    things = [item("low", 0, bag(200, 100, 50, carries=1500))]
    things += [item(f"up{k}", 0, bag(100, 100, 50, g=on_each_g)) for k in range(2)]
    p = problem([Line("w", WANT, 3, 1)], things, [box(200, 100, 120)])
    bags = [option_of(p, k, 0, 0, k > 0) for k in range(3)]
    held = on_pads(p, bags, [(0, 0, 200, 100), (0, 0, 100, 100), (100, 0, 100, 100)])
    if held is None:
        return None
    result = Result(held.placed, held.boards, (), False)
    assert [fault for fault in faults(p, result) if "goals" not in fault] == []
    return result


def test_a_bag_bears_two_boards_side_by_side_as_long_as_it_carries_both() -> None:
    assert two_boards(on_each_g=700) is not None
    assert two_boards(on_each_g=800) is None


def test_on_a_board_a_low_bag_ends_below_a_pack_in_the_lid_or_keeps_clear_of_it_as_a_tall_one() -> None:
    pack = Body((50, 0, 150), (100, 100, 50))
    things = [item("low", 0, bag(90, 90, 60, carries=900)), item("tall", 0, bag(90, 90, 100))]
    p = problem([Line("w", WANT, 2, 1)], things, [box(200, 100, 200, blocked=(pack,))])
    ways = [o for o in options(p) if o.upper]
    seen = [(o.item, o.top_mm, body_mask(p.bins[0], o)) for o in ways]
    assert seen == [(0, 150, 0), (0, 200, 1), (1, 200, 1)]

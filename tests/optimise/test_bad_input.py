"""What can't go is an answer, never a crash: the result is empty or short, and says why where it can."""

from judge import faults
from small import FILLER, MUST, bag, box, item, problem

from ramet.optimise.choose import choose
from ramet.optimise.explain import why_left
from ramet.optimise.problem import Budget, Line

BUDGET = Budget(0.6, 1)


def answered(p):
    result = choose(p, BUDGET)
    assert faults(p, result) == []
    return result, {(p.lines[why.line].id, why.code) for why in why_left(p, result, BUDGET)}


def test_every_candidate_held_leaves_nothing_to_choose_from():
    result, whys = answered(problem([Line("m", MUST, 2, 1)], [], [box(100, 100, 100)]))
    assert result.placed == ()
    assert result.goals[0].value == 0
    assert whys == set()


def test_a_piece_without_any_bag_stays_without_a_word_of_the_solver():
    result, whys = answered(problem([Line("m", MUST, 1, 1)], [item("a", 0)], [box(100, 100, 100)]))
    assert result.placed == ()
    assert whys == set()


def test_a_bag_allowed_in_no_box_stays_and_asks_for_room():
    items = [item("a", 0, bag(50, 50, 50, boxes=frozenset()))]
    result, whys = answered(problem([Line("m", MUST, 1, 1)], items, [box(100, 100, 100)]))
    assert result.placed == ()
    assert whys == {("m", "no_room")}


def test_musts_that_exceed_the_boxes_are_sent_as_far_as_they_go():
    items = [item(name, 0, bag(100, 100, 90)) for name in "abc"]
    result, whys = answered(problem([Line("m", MUST, 3, 1)], items, [box(200, 100, 100)]))
    assert (result.goals[0].value, result.goals[0].bound) == (2, 2)
    assert ("m", "no_room") in whys


def test_boxes_that_may_hold_nothing_hold_nothing():
    items = [item("a", 0, bag(50, 50, 50, g=100))]
    result, whys = answered(problem([Line("m", MUST, 1, 1)], items, [box(100, 100, 100, most_g=0)]))
    assert result.placed == ()
    assert whys == {("m", "too_heavy")}


def test_goods_without_mass_and_lines_without_wishes_are_no_trouble():
    lines = [Line("m", MUST, 1, 1), Line("none", FILLER, 0, 5), Line("worthless", FILLER, 1, 0)]
    items = [item("goods", 0, bag(50, 50, 50, g=0), pieces=()), item("b", 1, bag(20, 20, 20)),
             item("c", 2, bag(20, 20, 20, g=0))]  # fmt: skip
    result, _ = answered(problem(lines, items, [box(100, 100, 100)]))
    assert 0 in {placed.item for placed in result.placed}
    assert 1 not in {placed.item for placed in result.placed}

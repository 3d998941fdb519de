"""Why a line is short: the code names what binds, and the change offered is a true one."""

from judge import faults
from small import FILLER, MUST, WANT, bag, box, item, ok_small, problem

from ramet.optimise.choose import choose
from ramet.optimise.explain import why_left
from ramet.optimise.problem import Budget, Line

BUDGET = Budget(2.0, 3)


def whys(p):
    result = choose(p, BUDGET)
    assert faults(p, result) == []
    return {(p.lines[why.line].id, why.code): why.would_fit_if for why in why_left(p, result, BUDGET)}


def test_want_of_room_asks_for_a_box():
    found = whys(ok_small())
    assert found[("big", "no_room")] == "one more box like b"
    assert found[("little", "no_room")] == "one more box like b"
    assert "must" not in {line for line, _ in found}


def test_a_line_that_would_make_room_by_staying_is_named():
    lines = [Line("big", FILLER, 1, 9), Line("two", FILLER, 2, 3)]
    items = [item("a", 0, bag(100, 100, 90)), item("b", 1, bag(50, 100, 90)), item("c", 1, bag(50, 100, 90))]
    found = whys(problem(lines, items, [box(100, 100, 100)]))
    assert found[("two", "outranked")] == "if line big stayed behind"


def test_a_little_more_height_is_found_and_really_helps():
    lines = [Line("w", WANT, 2, 1)]
    items = [item("a", 0, bag(100, 100, 50, carries=9000)), item("b", 0, bag(100, 100, 60, carries=9000))]
    p = problem(lines, items, [box(100, 100, 100)])
    assert whys(p)[("w", "no_room")] == "20 mm more height in the boxes"
    p = problem(lines, items, [box(100, 100, 120)])
    assert len(choose(p, BUDGET).placed) == 2


def test_a_bag_too_big_for_any_box_says_what_box_it_needs():
    p = problem([Line("w", WANT, 1, 1)], [item("a", 0, bag(300, 200, 100))], [box(100, 100, 100)])
    assert whys(p) == {("w", "no_room"): "a box with 300 × 200 × 100 mm free inside"}


def test_mass_that_binds_is_named_with_what_would_do():
    items = [item(name, 0, bag(20, 20, 20, g=700)) for name in "ab"]
    p = problem([Line("w", WANT, 2, 1)], items, [box(100, 100, 100, most_g=1000)])
    assert whys(p)[("w", "too_heavy")] == "500 g more mass allowed in a box"


def test_a_scarce_resource_is_named():
    items = [item(name, 0, bag(20, 20, 20), cups=1) for name in "ab"]
    p = problem([Line("w", WANT, 2, 1)], items, [box(100, 100, 100)], cups=1)
    assert whys(p) == {("w", "resource:cups"): "1 more of cups"}


def test_a_rule_that_binds_is_named():
    items = [
        item("a", 0, bag(100, 100, 50, carries=9000), strain="s"),
        item("b", 0, bag(100, 100, 45), strain="t", soft=True),
    ]
    p = problem([Line("w", WANT, 2, 1)], items, [box(100, 100, 100)])
    found = whys(p)
    assert found[("w", "excluded_by_rule:soft_never_above")] == "if soft corals might stand above others"


def test_lines_that_are_met_or_have_nothing_left_get_no_answer():
    lines = [Line("met", MUST, 1, 1), Line("none", FILLER, 3, 1)]
    items = [item("a", 0, bag(20, 20, 20)), item("b", 1, bag(20, 20, 20))]
    assert whys(problem(lines, items, [box(100, 100, 100)])) == {}


def test_where_no_single_change_is_enough_the_smallest_set_is_named():
    items = [item(name, 0, bag(20, 20, 20, g=700), cups=1) for name in "ab"]
    p = problem([Line("w", WANT, 2, 1)], items, [box(100, 100, 100, most_g=1000)], cups=1)
    result = choose(p, BUDGET)
    (why,) = [one for one in why_left(p, result, BUDGET) if one.together]
    assert set(why.together) == {"resource:cups", "too_heavy"}
    assert why.would_fit_if == "1 more of cups and 500 g more mass allowed in a box"
    enough = problem(p.lines, items, [box(100, 100, 100, most_g=1500)], cups=2)
    assert len(choose(enough, BUDGET).placed) == 2
    for spared in (
        problem(p.lines, items, [box(100, 100, 100, most_g=1500)], cups=1),
        problem(p.lines, items, [box(100, 100, 100, most_g=1000)], cups=2),
    ):
        assert len(choose(spared, BUDGET).placed) == 1

"""Why a line is short: the code names what binds, and the change offered is a true one."""

from judge import faults
from small import FILLER, MUST, WANT, bag, box, item, ok_small, problem

from ramet.optimise.choose import choose
from ramet.optimise.explain import Entry, how_it_enters, why_left
from ramet.optimise.problem import Budget, Line, Problem, Result

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
    assert found[("two", "outranked")] == "line big stays behind"


def test_a_little_more_height_is_found_and_really_helps():
    lines = [Line("w", WANT, 2, 1)]
    items = [item("a", 0, bag(100, 100, 50, carries=9000)), item("b", 0, bag(100, 100, 60, carries=9000))]
    p = problem(lines, items, [box(100, 100, 100)])
    assert whys(p)[("w", "no_room")] == "20 mm more height in the boxes"
    p = problem(lines, items, [box(100, 100, 120)])
    assert len(choose(p, BUDGET).placed) == 2


def test_a_bag_too_big_for_any_box_says_what_box_it_needs():
    p = problem([Line("w", WANT, 1, 1)], [item("a", 0, bag(300, 200, 100))], [box(100, 100, 100)])
    assert whys(p) == {("w", "no_box"): "a box with 300 × 200 × 100 mm free inside"}


def test_mass_that_binds_is_named_with_what_would_do():
    items = [item(name, 0, bag(20, 20, 20, g=700)) for name in "ab"]
    p = problem([Line("w", WANT, 2, 1)], items, [box(100, 100, 100, most_g=1000)])
    assert whys(p)[("w", "too_heavy")] == "500 g more mass allowed in a box"


def test_a_scarce_resource_is_named():
    items = [item(name, 0, bag(20, 20, 20), cups=1) for name in "ab"]
    p = problem([Line("w", WANT, 2, 1)], items, [box(100, 100, 100)], cups=1)
    assert whys(p) == {("w", "resource:cups"): "cups: 1 more"}


def test_a_rule_that_binds_is_named():
    items = [
        item("a", 0, bag(100, 100, 50, carries=9000), strain="s"),
        item("b", 0, bag(100, 100, 45), strain="t", soft=True),
    ]
    p = problem([Line("w", WANT, 2, 1)], items, [box(100, 100, 100)])
    found = whys(p)
    assert found[("w", "excluded_by_rule:soft_never_above")] == "soft corals may stand above others"


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
    assert why.would_fit_if == "cups: 1 more and 500 g more mass allowed in a box"
    enough = problem(p.lines, items, [box(100, 100, 100, most_g=1500)], cups=2)
    assert len(choose(enough, BUDGET).placed) == 2
    for spared in (
        problem(p.lines, items, [box(100, 100, 100, most_g=1500)], cups=1),
        problem(p.lines, items, [box(100, 100, 100, most_g=1000)], cups=2),
    ):
        assert len(choose(spared, BUDGET).placed) == 1


def with_one_more(rank: int, wide: int) -> tuple[Problem, Result]:
    """A box of 200 x 100 with one filler of 100 x 100 in it, and a newcomer of its own line."""
    lines = [Line("old", FILLER, 1, 5), Line("new", rank, 1, 1)]
    items = [item("o", 0, bag(100, 100, 90)), item("n", 1, bag(wide, 100, 90))]
    p = problem(lines, items, [box(200, 100, 100)])
    without = problem(lines, [items[0], item("n", 1)], [box(200, 100, 100)])
    return p, choose(without, BUDGET)


def test_a_newcomer_with_room_for_it_needs_nothing():
    assert how_it_enters(*with_one_more(FILLER, 100), 1) == Entry()


def test_a_newcomer_of_higher_rank_goes_in_place_of_a_lower_line():
    assert how_it_enters(*with_one_more(WANT, 150), 1) == Entry(instead="old")


def test_a_newcomer_of_the_same_rank_needs_a_box_more():
    assert how_it_enters(*with_one_more(FILLER, 150), 1) == Entry(("one more box like b",), ("no_room",))


def test_a_newcomer_too_large_for_all_that_was_tried_does_not_enter():
    assert how_it_enters(*with_one_more(WANT, 900), 1) is None

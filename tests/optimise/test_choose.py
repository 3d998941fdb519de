"""Choosing: optima known by hand, every rule on and off, determinism, and no packing that breaks a rule."""

from dataclasses import replace

import pytest
from judge import faults, goal_values
from small import FILLER, MUST, WANT, bag, box, item, mixed, ok_small, problem

from ramet.optimise.choose import choose
from ramet.optimise.problem import Body, Budget, Line, Rule

BUDGET = Budget(2.0, 7)


def solved(p, budget=BUDGET):
    result = choose(p, budget)
    assert faults(p, result) == []
    return result


def carried(p, result):
    return [p.items[placed.item].id for placed in result.placed]


def test_the_must_goes_first_and_one_filler_beside_it():
    p = ok_small()
    result = solved(p)
    assert carried(p, result) == ["a", "b"]
    assert goal_values(p, result) == [1, 0, 10, 2500, 600]
    assert all(goal.proven for goal in result.goals)


def test_a_bigger_filler_wins_where_no_must_needs_the_room():
    p = ok_small()
    lines = (Line("must", FILLER, 1, 1), *p.lines[1:])
    p = problem([lines[0], Line("little", FILLER, 2, 7), lines[2]], p.items, p.bins)
    assert carried(p, solved(p)) == ["d"]


def test_nothing_fits_gives_an_empty_packing_that_is_proven():
    p = problem([Line("must", MUST, 1, 1)], [item("a", 0, bag(300, 300, 300))], [box(100, 100, 100)])
    result = solved(p)
    assert result.placed == ()
    assert result.boards == ()
    assert [goal.value for goal in result.goals] == [0, 0, 0, 0, 0]
    assert result.goals[0].bound == 0 or not result.goals[0].proven


def test_no_items_and_no_boxes_are_not_an_error():
    assert solved(problem([], [], [])).placed == ()
    p = problem([Line("m", MUST, 1, 1)], [item("a", 0, bag(10, 10, 10))], [])
    assert solved(p).placed == ()


def test_a_piece_goes_only_once():
    shared = ("the piece",)
    lines = [Line("x", WANT, 1, 1), Line("y", WANT, 1, 1)]
    items = [
        item("a", 0, bag(50, 50, 50), pieces=shared, strain="s"),
        item("b", 1, bag(50, 50, 50), pieces=shared, strain="s"),
    ]
    assert len(solved(problem(lines, items, [box(100, 100, 100)])).placed) == 1


def test_a_line_gets_no_more_pieces_than_it_wants():
    items = [item(name, 0, bag(20, 20, 20), pieces=(name + "1", name + "2")) for name in "abc"]
    result = solved(problem([Line("x", WANT, 5, 1)], items, [box(100, 100, 100)]))
    assert len(result.placed) == 2
    assert result.goals[1].value == 4


def test_a_scarce_resource_caps_the_choice():
    items = [item(name, 0, bag(20, 20, 20), cups=1) for name in "abcd"]
    result = solved(problem([Line("x", WANT, 4, 1)], items, [box(100, 100, 100)], cups=3))
    assert len(result.placed) == 3


def test_a_box_bears_only_its_mass():
    items = [item(name, 0, bag(20, 20, 20, g=400)) for name in "abcd"]
    assert len(solved(problem([Line("x", WANT, 4, 1)], items, [box(100, 100, 100, most_g=1300)])).placed) == 3


def test_a_second_layer_needs_bags_that_carry_it():
    lines = [Line("x", WANT, 2, 1)]
    for carries, expected in ((0, 1), (1099, 1), (1100, 2)):
        items = [
            item("a", 0, bag(100, 100, 50, carries=carries)),
            item("b", 0, bag(100, 100, 45, g=1094)),
        ]
        result = solved(problem(lines, items, [box(100, 100, 100)]))
        assert len(result.placed) == expected, carries
        assert len(result.boards) == expected - 1


def test_soft_goes_below_unless_the_rule_is_off():
    lines = [Line("x", WANT, 2, 1)]
    items = [
        item("soft", 0, bag(100, 100, 50), soft=True),
        item("stony", 0, bag(100, 100, 45, carries=9000)),
    ]
    where = [box(100, 100, 100)]
    assert len(solved(problem(lines, items, where)).placed) == 1
    off = solved(problem(lines, items, where, frozenset()))
    assert len(off.placed) == 2


def test_musts_are_spread_over_two_boxes_unless_the_rule_is_off():
    lines = [Line("m", MUST, 2, 1), Line("f", FILLER, 1, 1)]
    items = [
        item("a", 0, bag(50, 100, 50)),
        item("b", 0, bag(50, 100, 50)),
        item("c", 1, bag(100, 100, 50)),
    ]
    where = [box(100, 100, 60, name="one"), box(100, 100, 60, name="two")]
    p = problem(lines, items, where)
    assert carried(p, solved(p)) == ["a", "b"]
    p = problem(lines, items, where, frozenset({Rule.SPREAD_STRAINS}))
    assert carried(p, solved(p)) == ["a", "b", "c"]


def test_bags_of_a_strain_are_spread_when_two_boxes_are_used():
    lines = [Line("w", WANT, 2, 1), Line("f", FILLER, 1, 1)]
    items = [
        item("a", 0, bag(50, 100, 50), strain="s"),
        item("b", 0, bag(50, 100, 50), strain="s"),
        item("c", 1, bag(100, 100, 50)),
    ]
    where = [box(100, 100, 60, name="one"), box(100, 100, 60, name="two")]
    p = problem(lines, items, where)
    assert carried(p, solved(p)) == ["a", "b"]
    p = problem(lines, items, where, frozenset())
    assert carried(p, solved(p)) == ["a", "b", "c"]


def test_a_choice_stays_in_the_boxes_it_may_go_to():
    where = [box(100, 100, 100, name="one"), box(100, 100, 100, name="two")]
    p = problem([Line("x", WANT, 1, 1)], [item("a", 0, bag(50, 50, 50, boxes=frozenset({1})))], where)
    assert [placed.bin for placed in solved(p).placed] == [1]


def test_less_billed_mass_goes_before_a_better_margin():
    choices = (bag(50, 50, 50, g=4000, margin=900), bag(50, 50, 50, g=2600, margin=300),
               bag(50, 50, 50, g=2900, margin=500))  # fmt: skip
    p = problem([Line("x", WANT, 1, 1)], [item("a", 0, *choices)], [box(100, 100, 100)])
    result = solved(p)
    assert [placed.choice for placed in result.placed] == [2]
    assert [(g.value, g.proven) for g in result.goals[3:]] == [(3500, True), (500, True)]


@pytest.mark.parametrize("layers", [1, 2])
def test_the_same_seed_gives_the_same_result(layers):
    p = mixed(3, layers)
    budget = Budget(0.8, 5)
    first, second = choose(p, budget), choose(p, budget)
    assert first == second
    assert faults(p, first) == []


def test_a_sensitive_bag_takes_the_inner_place_unless_the_rule_is_off():
    items = [item(f"i{k}", 0, bag(100, 100, 90)) for k in range(9)]
    items[0] = replace(items[0], sensitive=True)
    where = [box(300, 300, 100)]
    p = problem([Line("w", WANT, 9, 1)], items, where)
    result = solved(p)
    assert len(result.placed) == 9
    assert result.placed[0].at_mm == (100, 100, 0)
    off = solved(problem([Line("w", WANT, 9, 1)], items, where, frozenset()))
    assert off.placed[0].at_mm != (100, 100, 0)


def test_a_stop_leaves_the_best_so_far_and_says_so():
    p = mixed(4, 1)

    def interrupt(progress):
        raise KeyboardInterrupt

    result = choose(p, Budget(3.0, 1), interrupt)
    assert result.stopped_early
    assert result.placed
    assert faults(p, result) == []


def test_a_used_up_emergency_time_leaves_the_greedy_start():
    p = mixed(4, 1)
    result = choose(p, Budget(3.0, 1, emergency_s=0.0))
    assert result.stopped_early
    assert result.placed
    assert faults(p, result) == []


def test_goods_that_must_go_ride_with_the_only_must_though_two_boxes_go():
    lines = [Line("m", MUST, 1, 1), Line("goods", MUST, 1, 1), Line("f", FILLER, 1, 1)]
    goods = replace(item("b", 1, bag(50, 100, 50)), pieces=())
    items = [item("a", 0, bag(50, 100, 50)), goods, item("c", 2, bag(100, 100, 50))]
    p = problem(lines, items, [box(100, 100, 60, name="one"), box(100, 100, 60, name="two")])
    assert carried(p, solved(p)) == ["a", "b", "c"]


def test_what_no_bag_bears_is_proven_to_stay_behind_in_time():
    # a body leaves 20 x 20 mm of floor; over the must a board could lie, but nothing carries it: prices can't
    # know, so they have to leave time to the solver
    lines = [Line("r0", MUST, 2, 8), Line("r1", WANT, 1, 5), Line("r2", FILLER, 2, 4)]
    things = [
        item("i0", 2, bag(10, 10, 20, g=556, margin=68, carries=3000), strain="t", pieces=("p3",), cups=1),
        item("i1", 1, bag(20, 20, 20, g=263, margin=46, carries=0), pieces=("p3",)),
        item("i2", 0, bag(10, 20, 20, g=100, margin=1, carries=0), pieces=("p0",)),
    ]
    corner = Body(at_mm=(0, 0, 0), size_mm=(10, 20, 20))
    given = problem(lines, things, [box(30, 20, 60, blocked=(corner,))], frozenset(), cups=0)
    result = choose(given, Budget(5.0, 1))
    assert [(goal.value, goal.proven) for goal in result.goals[:3]] == [(1, True), (0, True), (0, True)]

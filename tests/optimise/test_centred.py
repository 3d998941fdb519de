"""Mass near the middle of its box: bags shift or change places, and never leave their box for it."""

from judge import faults
from small import WANT, bag, box, item, mixed, problem

from ramet.optimise.centred import mass_centred, off_centre_mm
from ramet.optimise.choose import choose
from ramet.optimise.goals import Packing
from ramet.optimise.problem import Budget, Line, Placed, Result


def test_a_single_bag_shifts_to_the_middle():
    p = problem([Line("w", WANT, 1, 1)], [item("a", 0, bag(100, 100, 90))], [box(300, 200, 100)])
    middle = mass_centred(p, Packing((Placed(0, 0, 0, (0, 0, 0), (100, 100, 90)),), ()))
    assert middle.placed[0].at_mm == (100, 50, 0)


def test_the_heavy_one_of_three_in_a_row_changes_places_with_the_middle_one():
    # masses 3, 1, 1 kg at 50, 150, 250 mm: 40 mm off the middle; 1, 3, 1: none
    items = [
        item(name, 0, bag(100, 100, 90, g=mass)) for name, mass in (("a", 3000), ("b", 1000), ("c", 1000))
    ]
    p = problem([Line("w", WANT, 3, 1)], items, [box(300, 100, 100)])
    row = Packing(tuple(Placed(k, 0, 0, (100 * k, 0, 0), (100, 100, 90)) for k in range(3)), ())
    assert off_centre_mm(p, row, 0) == (-40.0, 0.0)
    middle = mass_centred(p, row)
    assert off_centre_mm(p, middle, 0) == (0.0, 0.0)
    assert middle.placed[0].at_mm == (100, 0, 0)


def test_bags_without_mass_are_no_trouble():
    p = problem([Line("w", WANT, 1, 1)], [item("a", 0, bag(100, 100, 90, g=0))], [box(300, 200, 100)])
    result = choose(p, Budget(0.5, 1))
    assert len(result.placed) == 1
    assert faults(p, result) == []


def test_centring_keeps_every_rule_and_every_bag():
    for layers in (1, 2):
        p = mixed(5, layers)
        result = choose(p, Budget(0.3, 1))
        middle = mass_centred(p, Packing(result.placed, result.boards))
        assert faults(p, Result(middle.placed, middle.boards, result.goals, False)) == []

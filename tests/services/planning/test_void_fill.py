"""Fill under a board: from the top of every lower bag that may carry, and from no other."""

from ramet.formats.plan import Pad
from ramet.optimise.problem import Bin, Board, Choice, Item, Line, Placed, Problem, Result
from ramet.services.planning.void_fill import fills_under

STRONG = Choice((100, 80, 60), 500, 0, 3000)
TALL = Choice((100, 80, 90), 500, 0, 3000)
FRAGILE = Choice((100, 80, 50), 500, 0, 0)


def packed(*choices: Choice) -> tuple[Problem, Result]:
    """Return bags side by side in box 0, the last of them on the board in box 0, one more in box 1."""
    items = tuple(
        Item(f"i{n}", (f"p{n}",), 0, "s", False, False, (one,), {}) for n, one in enumerate(choices)
    )
    bins = (Bin("A", (400, 100, 200), 9000, 500, 0, 100), Bin("B", (400, 100, 200), 9000, 500, 0, 100))
    places = [Placed(n, 0, 0, (100 * n, 0, 0), one.size_mm) for n, one in enumerate(choices)]
    upper, other = len(choices) - 2, len(choices) - 1
    places[upper] = Placed(upper, 0, 0, (0, 0, 95), choices[upper].size_mm)
    places[other] = Placed(other, 0, 1, (0, 0, 0), choices[other].size_mm)
    problem = Problem((Line("r", 0, 9, 1),), items, bins, {})
    return problem, Result(tuple(places), (Board(0, 90),), (), False)


def test_lower_bags_that_may_carry_are_filled_up_to_the_board() -> None:
    problem, result = packed(TALL, STRONG, FRAGILE, STRONG, STRONG)
    assert fills_under(result.boards, problem, result) == (
        Pad(kind="fill", at_mm=(100, 0, 60), size_mm=(100, 80, 30)),
    )


def test_a_board_that_lies_on_all_its_bearers_needs_no_fill() -> None:
    problem, result = packed(TALL, TALL, STRONG, STRONG)
    assert fills_under(result.boards, problem, result) == ()


def test_a_board_borne_on_one_side_stands_on_blocks_in_the_free_corners() -> None:
    bins = (Bin("A", (400, 300, 250), 9000, 500, 0, 100),)
    items = tuple(Item(f"i{n}", (f"p{n}",), 0, "s", False, False, (TALL,), {}) for n in range(2))
    problem = Problem((Line("r", 0, 9, 1),), items, bins, {})
    places = (Placed(0, 0, 0, (0, 0, 0), TALL.size_mm), Placed(1, 0, 0, (300, 220, 95), TALL.size_mm))
    result = Result(places, (Board(0, 90),), (), False)
    blocks = fills_under(result.boards, problem, result)
    assert {block.at_mm for block in blocks} >= {(350, 0, 0), (0, 250, 0), (350, 250, 0)}
    for block in blocks:
        assert block.at_mm[2] + block.size_mm[2] == 90
        beside_x = block.at_mm[0] >= 100 or block.at_mm[0] + block.size_mm[0] <= 0
        beside_y = block.at_mm[1] >= 80 or block.at_mm[1] + block.size_mm[1] <= 0
        assert beside_x or beside_y

"""What makes one packing better than another, in order: musts, wants, fillers, billed mass, margin."""

from collections.abc import Sequence
from dataclasses import dataclass

from ramet.optimise.options import weight
from ramet.optimise.problem import Bin, Board, Placed, Problem
from ramet.optimise.surfaces import board_mass_g

GOALS = ("musts", "wants", "fillers", "billed_g", "margin_min")
MINIMISED = "billed_g"


@dataclass(frozen=True, slots=True)
class Packing:
    """A whole answer: what is placed where, and the boards that carry upper layers."""

    placed: tuple[Placed, ...] = ()
    boards: tuple[Board, ...] = ()


def boards_of(packing: Packing) -> dict[int, list[Board]]:
    """Return the boards of a packing by box."""
    found: dict[int, list[Board]] = {}
    for board in packing.boards:
        found.setdefault(board.bin, []).append(board)
    return found


def billed_g(box: Bin, contents_g: int) -> int:
    """Return what a used box bills [g]: dimensional or true mass, rounded up to the carrier's step."""
    step = max(1, box.billed_step_g)
    return -(-max(box.billed_floor_g, box.tare_g + contents_g) // step) * step


def contents_g(problem: Problem, packing: Packing, bin_index: int) -> int:
    """Return the mass of bags and board in a box [g]."""
    bags = sum(problem.items[p.item].choices[p.choice].mass_g for p in packing.placed if p.bin == bin_index)
    return bags + sum(board_mass_g(problem, board) for board in packing.boards if board.bin == bin_index)


def values(problem: Problem, packing: Packing) -> tuple[int, int, int, int, int]:
    """Return the value of each goal, in order."""
    carried = [0, 0, 0]
    for placed in packing.placed:
        line = problem.lines[problem.items[placed.item].line]
        carried[line.rank] += item_value(problem, placed.item)
    used = sorted({placed.bin for placed in packing.placed})
    billed = sum(billed_g(problem.bins[b], contents_g(problem, packing, b)) for b in used)
    margins = [problem.items[p.item].choices[p.choice].margin_min for p in packing.placed]
    return carried[0], carried[1], carried[2], billed, min(margins, default=0)


def rank_of(problem: Problem, item: int) -> int:
    """Return the rank of the line that an item is for."""
    return problem.lines[problem.items[item].line].rank


def item_value(problem: Problem, item: int) -> int:
    """Return what an item adds to the goal of its rank: pieces, or for fillers pieces times value."""
    line = problem.lines[problem.items[item].line]
    return weight(problem, item) * (line.value if line.rank == 2 else 1)


def rank_key(goal_values: Sequence[int]) -> tuple[int, ...]:
    """Return a key that is larger for the better packing."""
    return tuple(-v if goal == MINIMISED else v for goal, v in zip(GOALS, goal_values, strict=True))


def ceiling(problem: Problem, goal: str) -> int:
    """Return the most that a carrying goal can reach when room and mass are no matter."""
    rank = GOALS.index(goal)
    total = 0
    for index, line in enumerate(problem.lines):
        if line.rank != rank:
            continue
        pieces = sum(weight(problem, i) for i, item in enumerate(problem.items) if item.line == index)
        total += min(line.wanted, pieces) * (line.value if rank == 2 else 1)
    return total


def plain_bound(problem: Problem, goal: str) -> int:
    """Return the bound of a goal that needs no search."""
    if goal in GOALS[:3]:
        return ceiling(problem, goal)
    if goal == MINIMISED:
        return 0
    return max((c.margin_min for item in problem.items for c in item.choices), default=0)

"""Whether a wished number of pieces of every line can go at all: asked again and again by `explain`."""

from collections.abc import Sequence

from ramet.optimise.goals import Packing
from ramet.optimise.greedy import complete
from ramet.optimise.judging import Judge
from ramet.optimise.options import Option, board_levels, options, weight
from ramet.optimise.problem import Problem
from ramet.optimise.selection import build
from ramet.optimise.solving import Account


def carried(problem: Problem, packing: Packing) -> list[int]:
    """Return how many pieces of each line a packing carries."""
    counts = [0] * len(problem.lines)
    for placed in packing.placed:
        counts[problem.items[placed.item].line] += weight(problem, placed.item)
    return counts


def at_once(problem: Problem, counts: Sequence[int], start: Packing, line: int) -> bool:
    """Return whether one more bag of a line finds room beside what stands, without moving much."""
    able = options(problem)
    stays = _standing(problem, able, start, counts)
    return any(
        _enough(problem, counts, complete(problem, able, [option, *stays], boards))
        for boards in _boards(problem, start, stays)
        for option in able
        if problem.items[option.item].line == line and (not option.upper or option.bin in boards)
    )


def by_search(problem: Problem, counts: Sequence[int], account: Account, limit_s: float) -> bool:
    """Return whether the solver found a packing with these pieces per line (False: not within the limit)."""
    able = options(problem, all_choices=False)
    s = build(problem, able)
    for line, count in enumerate(counts):
        items = [i for i, item in enumerate(problem.items) if item.line == line]
        s.model.add(sum(weight(problem, i) * s.goes[i] for i in items) >= count)
    judge = Judge(problem, account)
    stop_at = account.spent_s + limit_s
    while (answer := account.solve(s.model, stop_at - account.spent_s)) is not None:
        if not answer.has_solution:
            return False
        if judge.judge(s, answer).packing is not None:
            return True
    return False


def _standing(
    problem: Problem, able: Sequence[Option], start: Packing, counts: Sequence[int]
) -> list[Option]:
    """Return the options that a packing uses, but for the lines that are to stay behind."""
    used = {(p.item, p.choice, p.bin, p.at_mm[2] > 0) for p in start.placed}
    return [
        o
        for o in able
        if (o.item, o.choice, o.bin, o.upper) in used and counts[problem.items[o.item].line] > 0
    ]


def _boards(problem: Problem, start: Packing, stays: Sequence[Option]) -> list[dict[int, int]]:
    """Return the boards as they lie, and with one more over what stands in a box without one."""
    now = {board.bin: board.z_mm for board in start.boards}
    found = [now]
    for b in range(len(problem.bins)):
        needs = [o.under_board_mm for o in stays if o.bin == b and not o.upper]
        if b not in now and needs:
            levels = [z for z in board_levels(problem, b, needs) if z >= max(needs)]
            found += [{**now, b: levels[0]}] if levels else []
    return found


def _enough(problem: Problem, counts: Sequence[int], packing: Packing) -> bool:
    return all(has >= need for has, need in zip(carried(problem, packing), counts, strict=True))

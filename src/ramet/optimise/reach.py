"""Whether a wished number of pieces of every line can go at all: asked again and again by `explain`."""

from collections.abc import Sequence

from ramet.optimise.draft import Boards, Draft
from ramet.optimise.goals import Packing, boards_of
from ramet.optimise.judging import Judge
from ramet.optimise.options import Option, options, under_board_mm, weight
from ramet.optimise.problem import Board, Problem
from ramet.optimise.selection import build
from ramet.optimise.solving import LEAST_SLICE_S, START_S, Account
from ramet.optimise.spread import keeps_spread, spread_needed
from ramet.optimise.standing import put_up
from ramet.optimise.surfaces import may_lie


def carried(problem: Problem, packing: Packing) -> list[int]:
    """Return how many pieces of each line a packing carries."""
    counts = [0] * len(problem.lines)
    for placed in packing.placed:
        counts[problem.items[placed.item].line] += weight(problem, placed.item)
    return counts


def at_once(problem: Problem, counts: Sequence[int], start: Packing, line: int) -> bool:
    """Return whether one more bag of a line finds room while all that stays keeps its place."""
    able = options(problem, all_choices=False)
    ways = [o for o in able if problem.items[o.item].line == line]
    return any(
        draft is not None and _one_more(problem, draft, ways)
        for draft in (_standing(problem, start, counts, boards) for boards in _boards(problem, start))
    )


def by_search(problem: Problem, counts: Sequence[int], account: Account, limit_s: float) -> bool:
    """Return whether the solver found a packing with these pieces per line (False: not within the limit)."""
    if min(limit_s, account.left_s) < START_S + LEAST_SLICE_S:
        return False
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


def _one_more(problem: Problem, draft: Draft, ways: Sequence[Option]) -> bool:
    for option in ways:
        if draft.may_go(option.item) and draft.insert([option]):
            return keeps_spread(problem, spread_needed(problem), draft.packing())
    return False


def _standing(problem: Problem, start: Packing, counts: Sequence[int], boards: Boards) -> Draft | None:
    """Return what stays, in its places; None when some of it would not be carried any more."""
    stay = [p.item for p in start.placed if counts[problem.items[p.item].line]]
    up = put_up(problem, start, stay, boards)
    return None if up.fallen else up.draft


def _boards(problem: Problem, start: Packing) -> list[Boards]:
    """Return the boards as they lie, and with one more over what stands in a box without one."""
    now = boards_of(start)
    found: list[Boards] = [now]
    for b, box in enumerate(problem.bins):
        here = [problem.items[p.item].choices[p.choice] for p in start.placed if p.bin == b]
        needs = [under_board_mm(choice.size_mm[2], choice.carries_g) for choice in here]
        if b not in now and needs:
            tops = [body.at_mm[2] + body.size_mm[2] for body in box.blocked]
            lying = [
                z for z in sorted({max(needs), *tops}) if z >= max(needs) and may_lie(problem, Board(b, z))
            ]
            found += [{**now, b: [Board(b, lying[0])]}] if lying else []
    return found

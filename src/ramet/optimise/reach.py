"""Whether a wished number of pieces of every line can go at all: asked again and again by `explain`."""

from collections.abc import Mapping, Sequence

from ramet.optimise.draft import Draft
from ramet.optimise.goals import Packing
from ramet.optimise.judging import Judge
from ramet.optimise.options import Option, board_g, board_levels, options, under_board_mm, weight
from ramet.optimise.problem import Problem
from ramet.optimise.selection import build
from ramet.optimise.solving import LEAST_SLICE_S, START_S, Account
from ramet.optimise.spread import keeps_spread, spread_needed


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
        found = draft.spot(option) if draft.may_go(option.item) else None
        if found is not None:
            draft.put(option, found[1])
            return keeps_spread(problem, draft.spread, draft.packing())
    return False


def _standing(
    problem: Problem, start: Packing, counts: Sequence[int], boards: Mapping[int, int]
) -> Draft | None:
    """Return what stays, in its places; None when nothing would carry an upper layer any more."""
    draft = Draft(problem, boards, spread_needed(problem))
    for p in start.placed:
        if counts[problem.items[p.item].line] == 0:
            continue
        choice = problem.items[p.item].choices[p.choice]
        option = Option(
            p.item, p.choice, p.bin, p.at_mm[2] > 0, choice.size_mm,
            choice.mass_g, choice.margin_min, choice.carries_g,
        )  # fmt: skip
        draft.put(option, (*p.at_mm[:2], *p.size_mm[:2]))
    borne = all(
        not box.upper_g or box.upper_g + board_g(problem, b) <= box.carries_g
        for b, box in enumerate(draft.boxes)
    )
    return draft if borne else None


def _boards(problem: Problem, start: Packing) -> list[dict[int, int]]:
    """Return the boards as they lie, and with one more over what stands in a box without one."""
    now = {board.bin: board.z_mm for board in start.boards}
    found = [now]
    for b in range(len(problem.bins)):
        here = [problem.items[p.item].choices[p.choice] for p in start.placed if p.bin == b]
        needs = [under_board_mm(choice.size_mm[2], choice.carries_g) for choice in here]
        if b not in now and needs:
            levels = [z for z in board_levels(problem, b, needs) if z >= max(needs)]
            found += [{**now, b: levels[0]}] if levels else []
    return found

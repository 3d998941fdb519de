"""A good packing in a few hundredths of a second: many quick starts, the best one kept."""

import random
from collections.abc import Mapping, Sequence

from ramet.optimise.draft import Boards, Draft
from ramet.optimise.goals import Packing, boards_of, item_value, rank_key, rank_of, values
from ramet.optimise.layouts import Layouts
from ramet.optimise.options import Option
from ramet.optimise.problem import Placed, Problem
from ramet.optimise.spread import NO_SPREAD, Spread, keeps_spread, spread_needed
from ramet.optimise.standing import put_up

STARTS = 24
MOST_LIFTS = 40


def best_start(problem: Problem, options: Sequence[Option], seed: int, starts: int = STARTS) -> Packing:
    """Return the best of several greedy packings; the first ones are the same for every seed."""
    dice = random.Random(seed)
    by_item = by_item_sorted(options)
    spread = spread_needed(problem)
    layouts = [Layouts.of(problem, b, options) for b in range(len(problem.bins))]
    best = Packing()
    for start in range(starts):
        boards = _boards(layouts, start, dice)
        order = order_of(problem, by_item, start, dice)
        best = _better(problem, best, _fill(problem, by_item, order, boards, spread))
    for b in range(len(problem.bins)):
        alone = {i: [o for o in many if o.bin == b] for i, many in by_item.items()}
        order = order_of(problem, by_item, 0, dice)
        best = _better(problem, best, _fill(problem, alone, order, {}, NO_SPREAD))
    return best


def complete(
    problem: Problem,
    options: Sequence[Option],
    wanted: Sequence[Option],
    boards: Boards,
) -> Packing:
    """Return a packing as close as can be to wanted options: they go first, then whatever still fits."""
    draft = Draft.empty(problem, boards, NO_SPREAD)

    def below_first(o: Option) -> tuple[bool, int, int, int]:
        return o.upper, rank_of(problem, o.item), -o.area_mm2, o.item

    for option in sorted(wanted, key=below_first):
        if draft.may_go(option.item):
            draft.insert([option])
    return _with_the_rest(draft, options)


def filled_up(problem: Problem, options: Sequence[Option], packing: Packing) -> Packing:
    """Return a packing with whatever else still fits; empty when the risk would not be spread."""
    draft = put_up(problem, packing, [p.item for p in packing.placed]).draft
    return _with_the_rest(draft, options)


def _with_the_rest(draft: Draft, options: Sequence[Option]) -> Packing:
    problem = draft.problem
    draft.spread = spread_needed(problem)
    by_item = by_item_sorted(options)
    for item in order_of(problem, by_item, 0, random.Random(0)):
        if draft.may_go(item):
            draft.insert(by_item[item])
    packing = draft.packing()
    return packing if keeps_spread(problem, draft.spread, packing) else Packing()


def lift_margin(problem: Problem, every: Sequence[Option], packing: Packing) -> Packing:
    """Return a packing whose thinnest bags are changed for better ones, where the floors still hold all."""
    by_item = by_item_sorted(every)
    boards = boards_of(packing)
    for _ in range(MOST_LIFTS):
        thinnest = min(packing.placed, key=lambda p: (_margin(problem, p), p.item), default=None)
        better = None if thinnest is None else _lifted(problem, every, by_item, boards, packing, thinnest)
        if better is None:
            return packing
        packing = better
    return packing


def _lifted(
    problem: Problem,
    every: Sequence[Option],
    by_item: Mapping[int, Sequence[Option]],
    boards: Boards,
    packing: Packing,
    thinnest: Placed,
) -> Packing | None:
    used = {(p.item, p.choice, p.bin, p.at_mm[2] > 0) for p in packing.placed if p.item != thinnest.item}
    stays = [o for o in every if (o.item, o.choice, o.bin, o.upper) in used]
    ways = [o for o in by_item[thinnest.item] if o.margin_min > _margin(problem, thinnest)]
    now = rank_key(values(problem, packing))
    for way in sorted(ways, key=lambda o: (o.bin != thinnest.bin, o.area_mm2, -o.margin_min)):
        changed = complete(problem, every, [way, *stays], boards)
        new = rank_key(values(problem, changed))
        same = new[:4] == now[:4] and new[4] == now[4] and len(changed.placed) == len(packing.placed)
        if new > now or (same and _thin(problem, changed) < _thin(problem, packing)):
            return changed
    return None


def _thin(problem: Problem, packing: Packing) -> int:
    """How many bags have the smallest margin."""
    margins = [_margin(problem, p) for p in packing.placed]
    return margins.count(min(margins))


def _margin(problem: Problem, placed: Placed) -> int:
    return problem.items[placed.item].choices[placed.choice].margin_min


def _fill(
    problem: Problem,
    by_item: Mapping[int, Sequence[Option]],
    order: Sequence[int],
    boards: Boards,
    spread: Spread,
) -> Packing:
    draft = Draft.empty(problem, boards, spread)
    waiting = [item for item in order if by_item[item]]
    for _ in range(2):  # what could not stand above at first may do so once enough stands below
        waiting = [item for item in waiting if draft.may_go(item) and not draft.insert(by_item[item])]
    packing = draft.packing()
    return packing if keeps_spread(problem, spread, packing) else Packing()


def by_item_sorted(options: Sequence[Option]) -> dict[int, list[Option]]:
    """Return the options of each item, the smallest first; on a board each way to bag it once."""
    ways = {(o.item, o.choice, o.bin, o.upper): o for o in options}
    found: dict[int, list[Option]] = {}
    for option in ways.values():
        found.setdefault(option.item, []).append(option)
    for many in found.values():
        many.sort(key=lambda o: (o.area_mm2, not o.upper, o.mass_g, o.bin, o.choice))
    return found


def _boards(layouts: Sequence[Layouts], start: int, dice: random.Random) -> Boards:
    """No boards at first, then some across the whole box, then whatever the dice say."""
    if start == 0:
        return {}
    if start < 4:
        return {
            one.bin: one.full(one.levels[(len(one.levels) - 1) * start // 4]) for one in layouts if one.levels
        }
    return {one.bin: one.draw(dice) for one in layouts if dice.random() < 0.85}


def order_of(
    problem: Problem, by_item: Mapping[int, Sequence[Option]], start: int, dice: random.Random
) -> list[int]:
    """Musts, wants, fillers; inside a rank by value for the room, shaken a little after the first starts."""

    def key(item: int) -> tuple[int, float, str]:
        area = min((o.area_mm2 for o in by_item[item]), default=1)
        room = area ** (0.5 if start % 2 else 1.0)
        shake = 1.0 if start < 2 else dice.uniform(0.6, 1.6)
        rank = rank_of(problem, item)
        score = area if rank == 0 and start % 4 < 2 else item_value(problem, item) / room
        return rank, -score * shake, problem.items[item].id

    return sorted(by_item, key=key)


def _better(problem: Problem, one: Packing, other: Packing) -> Packing:
    return other if rank_key(values(problem, other)) > rank_key(values(problem, one)) else one

"""Takes some bags out of a packing and packs again, many times over; keeps what is at least as good.

Greedy starts leave gaps because they never move a bag. A few hundred small ruins and quick repairs close most
of them, in less time than one solve takes.
"""

import random
from collections.abc import Mapping, Sequence

from ramet.optimise.draft import Boards, Draft
from ramet.optimise.goals import Packing, boards_of, rank_key, values
from ramet.optimise.greedy import by_item_sorted, order_of
from ramet.optimise.layouts import Layouts
from ramet.optimise.options import Option
from ramet.optimise.problem import Placed, Problem
from ramet.optimise.spread import NO_SPREAD, Spread, keeps_spread, spread_needed

WHOLE_BOX_SHARE = 0.3
NEW_LAYOUT_SHARE = 0.7
FEWEST, MOST = 1, 6


def improve(problem: Problem, options: Sequence[Option], packing: Packing, seed: int, rounds: int) -> Packing:
    """Return a packing at least as good after some rounds of ruin and repair; the same for the same seed."""
    if not packing.placed:
        return packing
    dice = random.Random(seed)
    by_item = by_item_sorted(options)
    spread = spread_needed(problem)
    layouts = [Layouts.of(problem, b, options) for b in range(len(problem.bins))]
    known = {(o.item, o.choice, o.bin, o.upper): o for o in options}
    best = here = packing
    best_key = here_key = rank_key(values(problem, packing))
    for _ in range(rounds):
        emptied, spared = _spared(here, dice)
        kept = [known[_key(one)] for one in spared if _key(one) in known]
        boards = boards_of(here)
        if emptied is not None and dice.random() < NEW_LAYOUT_SHARE:
            boards[emptied] = list(layouts[emptied].draw(dice))
        tried = _repaired(problem, by_item, kept, boards, spread, dice)
        key = rank_key(values(problem, tried))
        if key >= here_key:  # an equal packing opens new ways
            here, here_key = tried, key
        if key > best_key:  # but the first of equals stays the answer
            best, best_key = tried, key
    return best


def _key(one: Placed) -> tuple[int, int, int, bool]:
    return (one.item, one.choice, one.bin, one.at_mm[2] > 0)


def _spared(packing: Packing, dice: random.Random) -> tuple[int | None, list[Placed]]:
    """Return what stays: all but one box (and which that is), or all but a few bags."""
    placed = list(packing.placed)
    if dice.random() < WHOLE_BOX_SHARE:
        emptied = dice.choice(placed).bin
        return emptied, [one for one in placed if one.bin != emptied]
    gone = set(dice.sample(range(len(placed)), min(len(placed), dice.randint(FEWEST, MOST))))
    return None, [one for number, one in enumerate(placed) if number not in gone]


def _repaired(
    problem: Problem,
    by_item: Mapping[int, Sequence[Option]],
    kept: Sequence[Option],
    boards: Boards,
    spread: Spread,
    dice: random.Random,
) -> Packing:
    draft = Draft(problem, boards, NO_SPREAD)
    shaken = sorted(kept, key=lambda o: (o.upper, -o.area_mm2 * dice.uniform(0.7, 1.0)))
    for option in shaken:
        if draft.may_go(option.item) and not draft.insert([option]):
            draft.insert(by_item[option.item])
    for item in order_of(problem, by_item, dice.randrange(2, 6), dice):
        if draft.may_go(item):
            draft.insert(by_item[item])
    packing = draft.packing()
    return packing if keeps_spread(problem, spread, packing) else Packing()

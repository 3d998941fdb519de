"""Takes some bags out of a packing and packs again, many times over; keeps what is at least as good.

Greedy starts leave gaps because they never move a bag. Thousands of small ruins and quick repairs close most
of them. One or two boxes are opened at a time; the others stay as they are.
"""

import random
from collections.abc import Sequence

from ramet.optimise.draft import Draft
from ramet.optimise.goals import Packing, rank_key, values
from ramet.optimise.greedy import by_item_sorted, order_of
from ramet.optimise.layouts import Layouts
from ramet.optimise.options import Option
from ramet.optimise.problem import Board, Problem
from ramet.optimise.spread import keeps_spread, spread_needed
from ramet.optimise.standing import put_up

ANEW_SHARE, IN_PLACE_SHARE = 0.35, 0.4
"""Shares of the ways to open a box: emptied for good, or a few bags out; else all of it is packed anew."""
SECOND_BOX_SHARE = 0.25
NEW_LAYOUT_SHARE = 0.5
MOST_OUT = 4
STEP_BACK_SHARE = 0.03
"""How much of its fillers a packing may lose for a while, at first; falls to nothing over the rounds."""


def improve(problem: Problem, options: Sequence[Option], packing: Packing, seed: int, rounds: int) -> Packing:
    """Return a packing at least as good after some rounds of ruin and repair; the same for the same seed."""
    if not packing.placed:
        return packing
    repair = _Repair(problem, options, seed)
    best, best_key = packing, rank_key(values(problem, packing))
    here, here_key = repair.draft_of(packing), best_key
    for done in range(rounds):
        tried = repair.round(here)
        found = tried.packing()
        key = rank_key(values(problem, found))
        slack = STEP_BACK_SHARE * abs(best_key[2]) * (1 - done / rounds)
        nearly = key[:2] == best_key[:2] and key[2] >= best_key[2] - slack
        if (key >= here_key or nearly) and keeps_spread(problem, repair.spread, found):
            here, here_key = tried, key
            if key > best_key:
                best, best_key = found, key
    return best


class _Repair:
    """Opens boxes of a draft and fills them again, as its dice fall."""

    def __init__(self, problem: Problem, options: Sequence[Option], seed: int) -> None:
        self.problem = problem
        self.dice = random.Random(seed)
        self.by_item = by_item_sorted(options)
        self.spread = spread_needed(problem)
        self.layouts = [Layouts.of(problem, b, options) for b in range(len(problem.bins))]

    def draft_of(self, packing: Packing) -> Draft:
        """Return the packing as a draft."""
        return put_up(self.problem, packing, [p.item for p in packing.placed]).draft

    def round(self, here: Draft) -> Draft:
        """Open one or two boxes, put some of what was there back, and fill up."""
        dice = self.dice
        count = 2 if len(here.boxes) > 1 and dice.random() < SECOND_BOX_SHARE else 1
        opened = dice.sample(range(len(here.boxes)), count)
        way = dice.random()
        in_place = ANEW_SHARE <= way < ANEW_SHARE + IN_PLACE_SHARE
        draft = here.reopened({b: self._boards(here, b, in_place) for b in opened})
        for b in opened:
            if in_place:
                self._put_back(here, draft, b)
            elif way >= ANEW_SHARE:
                self._pack_anew(here, draft, b)
        self._fill(draft, opened)
        return draft

    def _boards(self, here: Draft, b: int, in_place: bool) -> Sequence[Board]:
        if in_place or self.dice.random() >= NEW_LAYOUT_SHARE:
            return [one.board for one in here.boxes[b].surfaces if one.board is not None]
        return self.layouts[b].draw(self.dice)

    def _put_back(self, here: Draft, draft: Draft, b: int) -> None:
        """Put all but a few bags back where they stood."""
        stands = here.boxes[b].stands
        out = set(self.dice.sample(range(len(stands)), min(len(stands), self.dice.randint(1, MOST_OUT))))
        for number, stand in enumerate(stands):
            if number not in out and (stand.surface == 0 or draft.is_borne(draft.boxes[b], stand)):
                draft.put(stand)

    def _pack_anew(self, here: Draft, draft: Draft, b: int) -> None:
        """Pack the bags of a box again in another order, as many as go in."""
        kept = [stand.option for stand in here.boxes[b].stands]
        out = self.dice.randint(0, 2)
        self.dice.shuffle(kept)
        shake = self.dice.choice((0.0, 0.2, 0.4))
        kept = sorted(
            kept[out:], key=lambda o: (o.upper, -o.area_mm2 * self.dice.uniform(1 - shake, 1.0), o.item)
        )
        for option in kept:
            if draft.may_go(option.item):
                draft.insert([option])

    def _fill(self, draft: Draft, opened: Sequence[int]) -> None:
        """Put in whatever still goes into the opened boxes, by rank and worth, shaken."""
        order = order_of(self.problem, self.by_item, self.dice.randrange(2, 6), self.dice)
        for item in order:
            if draft.may_go(item):
                draft.insert([o for o in self.by_item[item] if o.bin in opened])

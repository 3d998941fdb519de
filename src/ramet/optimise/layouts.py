"""Where boards may lie: across the whole box, over a part of it, side by side, or stacked."""

import random
from collections.abc import Sequence
from dataclasses import dataclass

from ramet.optimise.options import Option
from ramet.optimise.problem import Board, Problem, Rect
from ramet.optimise.surfaces import may_lie

SIDE_BY_SIDE, ONE_PART, STACKED = 0.3, 0.55, 0.7
"""Cumulative chances of the kinds of layout; the rest are boards across the whole box."""


@dataclass(frozen=True, slots=True)
class Layouts:
    """What layouts of one box are drawn from: heights of boards, and where the box may be parted."""

    problem: Problem
    bin: int
    levels: tuple[int, ...]
    cuts: tuple[tuple[int, ...], tuple[int, ...]]
    lowest_mm: int

    @classmethod
    def of(cls, problem: Problem, b: int, options: Sequence[Option]) -> "Layouts":
        """Return the layouts that make sense for these options."""
        here = [o for o in options if o.bin == b]
        upper = [o.size_mm[2] for o in here if o.upper]
        if not upper:
            return cls(problem, b, (), ((), ()), 0)
        box = problem.bins[b].size_mm
        tops = [body.at_mm[2] + body.size_mm[2] for body in problem.bins[b].blocked]
        most = box[2] - problem.board_mm - min(upper)
        levels = sorted({z for z in (*tops, *(o.under_board_mm for o in here)) if 0 < z <= most})
        sides = sorted({side for o in here for side in o.size_mm[:2]})
        cuts = _sums(sides, box[0]), _sums(sides, box[1])
        return cls(problem, b, tuple(levels), cuts, min(upper))

    def full(self, z_mm: int) -> tuple[Board, ...]:
        """Return one board across the box, if it can lie there."""
        return self._lying((Board(self.bin, z_mm),))

    def draw(self, dice: random.Random) -> tuple[Board, ...]:
        """Return a layout by chance; the same dice give the same one."""
        if not self.levels:
            return ()
        kind = dice.random()
        if kind < ONE_PART:
            axis = dice.randrange(2)
            parts = self._parts(axis, dice)
            if parts:
                chosen = parts if kind < SIDE_BY_SIDE else (dice.choice(parts),)
                return self._lying(tuple(Board(self.bin, dice.choice(self.levels), rect) for rect in chosen))
        if kind < STACKED:
            low, high = dice.choice(self.levels), dice.choice(self.levels)
            step = self.problem.board_mm + self.lowest_mm
            if low + step <= high:
                return self._lying((Board(self.bin, low), Board(self.bin, high)))
            top = self.problem.bins[self.bin].size_mm[2] - step
            higher = [z + low + self.problem.board_mm for z in self.levels]
            higher = [z for z in higher if z <= top]
            if higher:
                return self._lying((Board(self.bin, low), Board(self.bin, dice.choice(higher))))
        return self.full(dice.choice(self.levels))

    def _parts(self, axis: int, dice: random.Random) -> tuple[Rect, ...]:
        """Part the floor in two along or across."""
        if not self.cuts[axis]:
            return ()
        length, width, _ = self.problem.bins[self.bin].size_mm
        cut = dice.choice(self.cuts[axis])
        if dice.random() < 0.5:
            cut = (length, width)[axis] - cut
        if axis == 0:
            return (0, 0, cut, width), (cut, 0, length - cut, width)
        return (0, 0, length, cut), (0, cut, length, width - cut)

    def _lying(self, boards: Sequence[Board]) -> tuple[Board, ...]:
        return tuple(board for board in boards if may_lie(self.problem, board))


def _sums(sides: Sequence[int], whole: int) -> tuple[int, ...]:
    """Return the widths that bags side by side may take, short of the whole by at least one bag."""
    found = {0}
    for _ in range(whole // sides[0]):
        found |= {at + side for at in found for side in sides if at + side <= whole - sides[0]}
    return tuple(sorted(found - {0}))

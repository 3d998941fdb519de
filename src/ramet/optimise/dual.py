"""Sharper than area: dual feasible functions say how much of a floor a set of bags must take at least.

A dual feasible function f of a length L keeps: pieces that fit side by side into L have f-lengths that fit
into f(L). A product of one such function along and one across is then a valid "area" for packing without
overlap (Fekete & Schepers 2004, Math. Methods Oper. Res. 60:311-329, theorems 1-5, from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ramet.optimise.problem import Rect


@dataclass(frozen=True, slots=True)
class Scale:
    """One dual feasible function in whole numbers: `of(length)` for a piece, `whole` for the floor."""

    of: Callable[[int], int]
    whole: int


@dataclass(frozen=True, slots=True)
class Area:
    """A valid area: what a bag takes at least, and what the floor has."""

    along: Scale
    across: Scale

    @property
    def room(self) -> int:
        """What the bare floor has."""
        return self.along.whole * self.across.whole

    def of(self, length: int, width: int) -> int:
        """What a bag takes at least, in whichever way it is turned."""
        straight = self.along.of(length) * self.across.of(width)
        return min(straight, self.along.of(width) * self.across.of(length))

    def of_body(self, rect: Rect) -> int:
        """What a body takes that does not turn."""
        return self.along.of(rect[2]) * self.across.of(rect[3])


def plain_area(length: int, width: int) -> Area:
    """Return the ordinary area."""
    return Area(_same(length), _same(width))


def grid_areas(length: int, width: int, sides: Sequence[int]) -> tuple[Area, ...]:
    """Return the few valid areas that nearly always help: how many squares of one size a floor holds."""
    found = []
    for side in sorted(set(sides)):
        if side <= min(length, width):
            along, across = _grid(length, side), _grid(width, side)
            found += [Area(along, across), Area(_same(length), across), Area(along, _same(width))]
    return tuple(found)


def _same(whole: int) -> Scale:
    return Scale(lambda x: x, whole)


def _grid(whole: int, step: int) -> Scale:
    """How many points of a grid a piece covers at least, wherever it lies."""
    return Scale(lambda x: x // step, whole // step)

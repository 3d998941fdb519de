"""Sharper than area: dual feasible functions say how much of a floor a set of bags must take at least.

A dual feasible function f of a length L keeps: pieces that fit side by side into L have f-lengths that fit
into f(L). A product of one such function along and one across is then a valid "area" for packing without
overlap (Fekete & Schepers 2004, Math. Methods Oper. Res. 60:311-329, theorems 1-5, from memory).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ramet.optimise.floors import Rect


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


def areas(length: int, width: int, sides: Sequence[int]) -> tuple[Area, ...]:
    """Return the valid areas worth trying for bags with these side lengths."""
    return tuple(Area(a, b) for a in _family(length, sides) for b in _family(width, sides))


def overfull(
    family: Sequence[Area], bags: Sequence[tuple[int, int, int]], bodies: Sequence[Rect]
) -> Area | None:
    """Return the area that these bags and bodies overfill most, if any."""
    best: tuple[float, Area] | None = None
    for area in family:
        taken = sum(area.of(bag[0], bag[1]) for bag in bags) + sum(area.of_body(body) for body in bodies)
        excess = taken / area.room
        if taken > area.room and (best is None or excess > best[0]):
            best = (excess, area)
    return None if best is None else best[1]


def _family(whole: int, sides: Sequence[int]) -> list[Scale]:
    cuts = sorted({side for side in sides if 0 < side <= whole})
    found = [_same(whole)]
    found += [_grid(whole, side) for side in cuts]
    found += [_grid(whole, whole // k + 1) for k in range(2, 6) if whole // k + 1 <= whole]
    found += [_split(whole, side) for side in cuts if 2 * side <= whole]
    found += [_halved(whole, side) for side in cuts if 2 * side <= whole]
    return found


def _same(whole: int) -> Scale:
    return Scale(lambda x: x, whole)


def _grid(whole: int, step: int) -> Scale:
    """How many points of a grid a piece covers at least, wherever it lies."""
    return Scale(lambda x: x // step, whole // step)


def _split(whole: int, small: int) -> Scale:
    """Pieces longer than whole - small leave no room for others but crumbs; crumbs count nothing."""
    return Scale(lambda x: whole if x > whole - small else (0 if x < small else x), whole)


def _halved(whole: int, small: int) -> Scale:
    """Long pieces (over half) count by what they leave for middling ones of at least `small`."""
    parts = whole // small

    def of(x: int) -> int:
        if 2 * x > whole:
            return parts - (whole - x) // small
        return 1 if x >= small else 0

    return Scale(of, parts)

"""All that one plane can hold: every set of bags of a few kinds, known to fit, known not to, or open.

Bags come in few sizes, so seen from above there are few kinds, and a set is a count of each. What covers a
set that does not fit does not fit either, and the other way round: so a few hundred answers decide tens of
thousands of sets, and the smallest sets that do not fit say all there is to say about the plane.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ramet.optimise.dual import grid_areas
from ramet.optimise.floors import Flat, Free, Plane, tightest, turned
from ramet.optimise.packing import Fit, FloorLab, covers
from ramet.optimise.problem import Rect

Counts = NDArray[np.int16]

MOST_SETS = 300_000
"""With more sets than this a plane is learned by what is asked of it only."""
MOST_BAGS = 24
"""A plane that more bags find room on is easy to fill and hard to prove full."""
MOST_GROUPS = 400
MOST_CELLS = 4_000_000
"""With more groups of kinds (closed upwards), or sets times groups, comparing takes too long."""
NOTE_S, QUICK_S = 0.003, 0.008
"""Fixed prices in deterministic seconds: of noting a set, and of packing one quickly and filling it up."""
AT_ONCE = 6
"""Open sets decided in one go, so that the solver's threads stay busy."""
AHEAD = 400
"""Open sets looked through for them."""

OPEN, FITS, MISFIT, UNSURE = 0, 1, 2, 3


@dataclass(slots=True)
class Frontier:
    """Sets of bags on one plane: rows of `sets` are counts by kind, of `risers` by group closed upwards.

    One set covers another, bag by bag, just when it has at least as many bags in every such group (Hall).
    """

    plane: Plane
    kinds: tuple[Flat, ...]
    sets: Counts
    groups: Counts
    risers: Counts = field(init=False)
    state: NDArray[np.int8] = field(init=False)
    misfits: list[tuple[Flat, ...]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.risers = self.sets @ self.groups.T
        self.state = np.zeros(len(self.sets), dtype=np.int8)

    def _overfull(self) -> NDArray[np.bool_]:
        """Return which sets take more than there is of a valid area that needs no search."""
        length, width = self.plane.length, self.plane.width
        found = np.zeros(len(self.sets), dtype=np.bool_)
        for area in grid_areas(length, width, sorted({side for kind in self.kinds for side in kind[:2]})):
            takes = np.array([area.of(kind[0], kind[1]) for kind in self.kinds], dtype=np.int64)
            found |= self.sets @ takes > area.room
        return found

    @classmethod
    def of(cls, plane: Plane, kinds: Sequence[Flat]) -> "Frontier | None":
        """Return the frontier of bags of these kinds, nothing known yet; None where sets are too many."""
        given = {turned(kind) for kind in kinds}
        whole = {*given, *((long, wide, 0) for long, wide, _ in given)}
        ordered = tuple(sorted(whole, key=lambda k: (-k[0] * k[1], -k[2].bit_count(), k)))
        groups = _closed_upwards(ordered)
        sets = None if groups is None else _sets(plane, ordered)
        if sets is None or groups is None or len(sets) * len(groups) > MOST_CELLS:
            return None
        return cls(plane, ordered, sets, groups)

    @property
    def complete(self) -> bool:
        """Whether every set is decided."""
        return not (self.state == OPEN).any() and not (self.state == UNSURE).any()

    def verdict(self, bags: Sequence[Flat]) -> int:
        """Return what is known of a set of bags; MISFIT for one that area alone rules out."""
        given = [turned(bag) for bag in bags]
        if any(bag not in self.kinds for bag in given):
            return OPEN
        counts = np.array([given.count(kind) for kind in self.kinds], dtype=np.int16)
        row = np.flatnonzero((self.sets == counts).all(axis=1))
        return int(self.state[row[0]]) if len(row) else MISFIT

    def fitting(self) -> list[tuple[Flat, ...]]:
        """Return the sets that are known to fit."""
        return [tuple(self._bags(int(row))) for row in np.flatnonzero(self.state == FITS)]

    def fullest(self) -> Counts:
        """Return the sets that may fit and that no other such set covers; what is open counts as fitting."""
        left = self.state != MISFIT
        best: list[int] = []
        while left.any():
            best.append(int(np.flatnonzero(left)[-1]))  # what covers a set comes after it
            left &= ~(self.risers <= self.risers[best[-1]]).all(axis=1)
        fullest: Counts = self.sets[best]
        return fullest

    def explore(
        self, lab: FloorLab, stop_at_s: float, on_progress: Callable[[], None] = lambda: None
    ) -> None:
        """Decide open sets, from those with the fewest large bags, until none is left or time is up."""
        overfull = self._overfull()
        on_progress()
        while lab.account.left_s > 0 and lab.account.spent_s < stop_at_s:
            clear = np.flatnonzero(overfull & (self.state == OPEN))
            if clear.size:
                lab.account.charge(NOTE_S)
                self._note(int(clear[0]), self._bags(int(clear[0])), Fit(None, True))
                continue
            rows = self._next()
            if not rows:
                return
            lab.account.charge(QUICK_S * len(rows))
            on_progress()
            bags = [self._bags(row) for row in rows]
            for row, held, fit in zip(rows, bags, lab.fit_each(self.plane, bags), strict=True):
                self._note(row, held, fit)

    def _next(self) -> list[int]:
        """Return the first open sets of which none covers another: if one does not fit, it is a smallest one.

        Sets are sorted so that every set comes after all that it covers; masks are tried bare first.
        """
        waiting = np.flatnonzero(self.state == OPEN)
        found: list[int] = []
        for row in waiting[:AHEAD]:
            mine = self.risers[row]
            if not any(
                (self.risers[other] <= mine).all() or (self.risers[other] >= mine).all() for other in found
            ):
                found.append(int(row))
                if len(found) == AT_ONCE:
                    break
        return found

    def _bags(self, row: int) -> list[Flat]:
        return [kind for kind, count in zip(self.kinds, self.sets[row], strict=True) for _ in range(count)]

    def _note(self, row: int, bags: list[Flat], fit: Fit) -> None:
        if fit.rects is not None:
            fuller = _filled_up(self.plane, self.kinds, list(zip(bags, fit.rects, strict=True)))
            counts = np.array([fuller.count(kind) for kind in self.kinds], dtype=np.int16)
            self.state[(self.risers <= self.groups @ counts).all(axis=1)] = FITS
        elif fit.proven:
            self.misfits.append(tuple(bags))
            self.state[(self.risers >= self.risers[row]).all(axis=1)] = MISFIT
        else:
            self.state[row] = UNSURE


def _closed_upwards(kinds: tuple[Flat, ...]) -> Counts | None:
    """Return the groups of kinds that hold, with a kind, every kind that covers it: rows of 0 and 1."""
    groups: set[frozenset[int]] = {frozenset()}
    for kind in kinds:
        wider = frozenset(k for k, other in enumerate(kinds) if covers(other, kind))
        groups |= {group | wider for group in groups}
        if len(groups) > MOST_GROUPS:
            return None
    ordered = sorted(sorted(group) for group in groups if group)
    return np.array([[int(k in group) for k in range(len(kinds))] for group in ordered], dtype=np.int16)


def _sets(plane: Plane, kinds: tuple[Flat, ...]) -> Counts | None:
    """Return every set of bags that the area lets in, those with fewer large bags first."""
    room = plane.length * plane.width
    if min(long * wide for long, wide, _ in kinds) * MOST_BAGS < room:
        return None
    found = np.zeros((1, 0), dtype=np.int16)
    used = np.zeros(1, dtype=np.int64)
    for long, wide, _ in kinds:
        most = room // (long * wide)
        counts = np.tile(np.arange(most + 1, dtype=np.int16), len(found))
        found = np.column_stack([np.repeat(found, most + 1, axis=0), counts])
        used = np.repeat(used, most + 1) + counts.astype(np.int64) * long * wide
        found, used = found[used <= room], used[used <= room]
        if len(found) > MOST_SETS:
            return None
    return found


def _filled_up(plane: Plane, kinds: tuple[Flat, ...], held: list[tuple[Flat, Rect]]) -> list[Flat]:
    """Return a set that fits too, and covers this one: bags grow where they can, and free room is filled."""
    changed = True
    while changed:
        changed = False
        for number in sorted(range(len(held)), key=lambda k: -held[k][0][0] * held[k][0][1]):
            own = held[number][0]
            larger = [kind for kind in kinds if kind != own and covers(kind, own)]
            found = _first_that_fits(_free(plane, held[:number] + held[number + 1 :]), larger)
            if found is not None:
                held[number] = found
                changed = True
        free = _free(plane, held)
        while (found := _first_that_fits(free, kinds)) is not None:
            held.append(found)
            free.take(found[1])
            changed = True
    return [kind for kind, _ in held]


def _free(plane: Plane, held: Sequence[tuple[Flat, Rect]]) -> Free:
    return Free((0, 0, plane.length, plane.width), plane.bodies, [rect for _, rect in held])


def _first_that_fits(free: Free, kinds: Sequence[Flat]) -> tuple[Flat, Rect] | None:
    for kind in kinds:
        rect = tightest(free.rects(kind[2]), kind[0], kind[1])
        if rect is not None:
            return kind, rect
    return None

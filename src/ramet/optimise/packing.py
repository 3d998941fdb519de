"""Whether a set of upright bags fits on a floor: quickly if it can be, exactly if it must be."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from ramet.optimise.floors import Ground, Rect, pack_quickly
from ramet.optimise.solving import Account

Size = tuple[int, int, int]

TRY_SHARE, MOST_TRY_S = 0.05, 1.0
"""Share of the budget, and deterministic seconds at most, for one floor before it counts as undecided."""


@dataclass(frozen=True, slots=True)
class Fit:
    """`rects` when the bags fit; else whether that is proven."""

    rects: tuple[Rect, ...] | None
    proven: bool


@dataclass(slots=True)
class FloorLab:
    """Answers whether bags fit on a floor, and remembers what it found."""

    account: Account
    known: dict[tuple[object, ...], Fit] = field(default_factory=dict)

    def fit(self, place: Ground, bags: Sequence[Size]) -> Fit:
        """Return where the bags go, in their order."""
        order = sorted(range(len(bags)), key=lambda i: (bags[i], i))
        ordered = tuple(bags[i] for i in order)
        key = (
            place.length,
            place.width,
            place.hindrances,
            tuple((a, b, place.reach(h)) for a, b, h in ordered),
        )
        if key not in self.known:
            self.known[key] = self._decide(place, ordered)
        found = self.known[key]
        if found.rects is None:
            return found
        back: list[Rect] = [(0, 0, 0, 0)] * len(bags)
        for position, index in enumerate(order):
            back[index] = found.rects[position]
        return Fit(tuple(back), True)

    def smallest_misfit(self, place: Ground, bags: Sequence[Size]) -> tuple[Ground, list[Size]]:
        """Return bags, out of ones proven not to fit, of which none can be spared; and the floor.

        The floor comes back bare when the bags would not fit even without its hindrances.
        """
        bare = Ground(place.length, place.width, ())
        if place.hindrances and self._misfit(bare, bags):
            place = bare
        left = sorted(bags, key=lambda s: (s[0] * s[1], s))
        needed: set[tuple[int, int, int]] = set()
        for bag in tuple(left):
            as_seen = (bag[0], bag[1], place.reach(bag[2]))
            rest = list(left)
            rest.remove(bag)
            if as_seen not in needed and rest and self._misfit(place, rest):
                left = rest
            else:
                needed.add(as_seen)
        return place, left

    def _misfit(self, place: Ground, bags: Sequence[Size]) -> bool:
        found = self.fit(place, bags)
        return found.rects is None and found.proven

    def _decide(self, place: Ground, bags: tuple[Size, ...]) -> Fit:
        quick = pack_quickly(place, bags)
        if quick is not None:
            return Fit(tuple(quick), True)
        limit = min(MOST_TRY_S, TRY_SHARE * self.account.budget.deterministic_s)
        return fit_exactly(place, bags, self.account, limit)


def fit_exactly(place: Ground, bags: Sequence[Size], account: Account, limit_s: float) -> Fit:
    """Decide with the solver whether bags fit; undecided within the limit counts as not proven."""
    model = cp_model.CpModel()
    grid = _corners(place, bags)
    sides = [_Side.make(model, place, bag, grid) for bag in bags]
    always = [h for k, h in enumerate(place.hindrances) if all(place.reach(bag[2]) > k for bag in bags)]
    blocks = [_fixed(model, h.rect) for h in always]
    model.add_no_overlap_2d([s.along for s in sides] + [b[0] for b in blocks],
                            [s.across for s in sides] + [b[1] for b in blocks])  # fmt: skip
    for k, hindrance in enumerate(place.hindrances):
        tall = [s for s, bag in zip(sides, bags, strict=True) if place.reach(bag[2]) > k]
        if tall and hindrance not in always:
            along, across = _fixed(model, hindrance.rect)
            model.add_no_overlap_2d([*(s.along for s in tall), along], [*(s.across for s in tall), across])
    widths = [*(s.width for s in sides), *(h.rect[3] for h in always)]
    model.add_cumulative([s.along for s in sides] + [b[0] for b in blocks], widths, place.width)
    lengths = [*(s.length for s in sides), *(h.rect[2] for h in always)]
    model.add_cumulative([s.across for s in sides] + [b[1] for b in blocks], lengths, place.length)
    _order_equal(model, bags, sides)
    answer = account.solve(model, limit_s, small=True)
    if answer is None or answer.verdict == "unknown":
        return Fit(None, False)
    if not answer.has_solution:
        return Fit(None, True)
    value = answer.solver.value
    return Fit(tuple((value(s.x), value(s.y), value(s.length), value(s.width)) for s in sides), True)


@dataclass(frozen=True, slots=True)
class _Side:
    x: cp_model.IntVar
    y: cp_model.IntVar
    length: cp_model.LinearExprT
    width: cp_model.LinearExprT
    along: cp_model.IntervalVar
    across: cp_model.IntervalVar

    @classmethod
    def make(
        cls, model: cp_model.CpModel, place: Ground, bag: Size, grid: tuple[list[int], list[int]]
    ) -> "_Side":
        long, wide, _ = bag
        least = min(long, wide)
        x = model.new_int_var_from_domain(_domain(grid[0], place.length - least), "")
        y = model.new_int_var_from_domain(_domain(grid[1], place.width - least), "")
        if long == wide:
            along = model.new_fixed_size_interval_var(x, long, "")
            return cls(x, y, long, wide, along, model.new_fixed_size_interval_var(y, wide, ""))
        turn = model.new_bool_var("")
        length, width = long + (wide - long) * turn, wide + (long - wide) * turn
        right, back = model.new_int_var(0, place.length, ""), model.new_int_var(0, place.width, "")
        along = model.new_interval_var(x, length, right, "")
        return cls(x, y, length, width, along, model.new_interval_var(y, width, back, ""))


def _corners(place: Ground, bags: Sequence[Size]) -> tuple[list[int], list[int]]:
    """Return where lower corners may be: bags can always be pushed left and down until they touch.

    So every corner is a sum of sides of other bags, counted from the wall or from the far edge of a body
    (Herz 1972, IBM J. Res. Dev. 16:462-469, canonical dissections; from memory).
    """
    xs = {0, *(h.rect[0] + h.rect[2] for h in place.hindrances)}
    ys = {0, *(h.rect[1] + h.rect[3] for h in place.hindrances)}
    for long, wide, _ in bags:
        for corners, end in ((xs, place.length), (ys, place.width)):
            steps = {long, wide}
            corners |= {at + step for at in corners for step in steps if at + step < end}
    return sorted(xs), sorted(ys)


def _domain(corners: list[int], most: int) -> cp_model.Domain:
    return cp_model.Domain.from_values([at for at in corners if at <= most])


def _fixed(model: cp_model.CpModel, rect: Rect) -> tuple[cp_model.IntervalVar, cp_model.IntervalVar]:
    x, y, length, width = rect
    return (
        model.new_fixed_size_interval_var(x, length, "bodyx"),
        model.new_fixed_size_interval_var(y, width, "bodyy"),
    )


def _order_equal(model: cp_model.CpModel, bags: Sequence[Size], sides: Sequence[_Side]) -> None:
    """Equal bags are interchangeable: number them from left to right."""
    for (one, bag), (other, next_bag) in zip(
        zip(sides, bags, strict=True), zip(sides[1:], bags[1:], strict=False), strict=False
    ):
        if bag == next_bag:
            model.add(one.x <= other.x)

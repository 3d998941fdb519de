"""Whether a set of upright bags fits on a floor: quickly if it can be, exactly if it must be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python import cp_model

from ramet.optimise.floors import Flat, Plane, pack_quickly
from ramet.optimise.places import PlaceTable
from ramet.optimise.problem import Rect
from ramet.optimise.solving import Account, Answer

TRY_SHARE, MOST_TRY_S = 0.03, 0.3
"""Share of the budget, and deterministic seconds at most, for one floor before it counts as undecided."""
FLAT_S, APART_S = 0.03, 0.2
"""Seconds for the places of one floor before the solver is asked (full floors are its strength); of a box."""
LONGER = 8
"""How much longer a floor may take that was left undecided, when all else is done."""


@dataclass(frozen=True, slots=True)
class Fit:
    """`rects` when the bags fit; else whether that is proven."""

    rects: tuple[Rect, ...] | None
    proven: bool

    @property
    def misfit(self) -> bool:
        """Whether it is proven that the bags do not fit."""
        return self.rects is None and self.proven


Key = tuple[Plane, tuple[Flat, ...]]


@dataclass(slots=True)
class FloorLab:
    """Answers whether bags fit on a floor, and remembers what it found."""

    account: Account
    table: PlaceTable | None = None
    patient: bool = False
    known: dict[Key, Fit] = field(default_factory=dict)
    tried: set[Key] = field(default_factory=set)

    @property
    def limit_s(self) -> float:
        """Deterministic seconds for one floor."""
        quick = min(MOST_TRY_S, TRY_SHARE * self.account.budget.deterministic_s)
        return quick * LONGER if self.patient else quick

    def fit(self, plane: Plane, bags: Sequence[Flat]) -> Fit:
        """Return where the bags go, in their order."""
        return self.fit_each(plane, (bags,))[0]

    def fit_each(self, plane: Plane, sets: Sequence[Sequence[Flat]]) -> list[Fit]:
        """Return where the bags of each set go, as if there were no other; hard ones are solved together."""
        keys = [(plane, tuple(sorted(bags))) for bags in sets]
        hard = []
        for key in dict.fromkeys(keys):
            found = self.known.get(key)
            if found is None:
                found = self.known[key] = self._quickly(key)
            if found.rects is None and not found.proven and (self.patient or key not in self.tried):
                hard.append(key)
        models = [FloorModel.of(plane, key[1]) for key in hard]
        answers = self.account.solve_each([one.model for one in models], self.limit_s)
        for key, model, answer in zip(hard, models, answers, strict=True):
            self.tried.add(key)
            self.known[key] = model.read(answer)
        return [_in_order_of(bags, self.known[key]) for bags, key in zip(sets, keys, strict=True)]

    def fit_apart(self, plane: Plane, bags: Sequence[Flat], groups: Sequence[Sequence[int]]) -> Fit:
        """Return where bags go when only those of a group (positions in `bags`) must be beside each other."""
        if self.table is not None and self.table.knows(plane, bags):
            clash = np.zeros((len(bags), len(bags)), dtype=np.bool_)
            for group in groups:
                clash[np.ix_(group, group)] = True
            rects, proven, cost_s = self.table.fit(plane, bags, clash, APART_S)
            self.account.charge(cost_s)
            if rects is not None or proven:
                return Fit(rects, proven)
        return fit_exactly(plane, bags, self.account, self.limit_s, groups)

    def _quickly(self, key: Key) -> Fit:
        """Return what is found without the solver."""
        plane, bags = key
        if self.table is not None and self.table.knows(plane, bags):
            rects, proven, cost_s = self.table.fit(plane, bags, None, FLAT_S)
            self.account.charge(cost_s)
            if proven:
                return Fit(rects, proven)
        return _easily(plane, bags)

    def smallest_misfit(
        self, plane: Plane, bags: Sequence[Flat], sizes: Sequence[Flat] = ()
    ) -> tuple[Plane, list[Flat]]:
        """Return bags, of ones proven not to fit, of which none can be spared or smaller; and the plane.

        Smaller ones are taken from `sizes`. The plane comes back bare when even that would not help.
        """
        bare = Plane(plane.length, plane.width)
        if any(bag[2] for bag in bags) and self._misfit(bare, [(*bag[:2], 0) for bag in bags]):
            bags = [(*bag[:2], 0) for bag in bags]
        if not any(bag[2] for bag in bags):
            plane = bare
        left = sorted(bags, key=lambda s: (s[0] * s[1], s))
        needed: set[Flat] = set()
        for bag in tuple(left):
            rest = list(left)
            rest.remove(bag)
            if bag not in needed and rest and self._misfit(plane, rest):
                left = rest
            else:
                needed.add(bag)
        return plane, self._shrunk(plane, left, sizes)

    def _shrunk(self, plane: Plane, left: list[Flat], sizes: Sequence[Flat]) -> list[Flat]:
        tried: set[Flat] = set()
        for bag in sorted(left, key=lambda s: (-s[0] * s[1], s)):
            last = bag
            smaller = [s for s in sizes if s != bag and covers(bag, s)]
            for other in sorted(smaller, key=lambda s: (-s[0] * s[1], s)) if bag not in tried else ():
                rest = list(left)
                rest.remove(last)
                if not self._misfit(plane, [*rest, other]):
                    break
                left = [*rest, other]
                last = other
            tried |= {bag, last}
        return left

    def _misfit(self, plane: Plane, bags: Sequence[Flat]) -> bool:
        return self.fit(plane, bags).misfit


def _easily(plane: Plane, bags: tuple[Flat, ...]) -> Fit:
    """Return where the bags go if that is seen without the solver."""
    if any(min(bag[:2]) > min(plane.length, plane.width) for bag in bags):
        return Fit(None, True)
    quick = pack_quickly(plane, bags)
    return Fit(None if quick is None else tuple(quick), quick is not None)


def _in_order_of(bags: Sequence[Flat], found: Fit) -> Fit:
    """Return a fit of the sorted bags for bags in their own order."""
    if found.rects is None:
        return found
    order = sorted(range(len(bags)), key=lambda i: (bags[i], i))
    back: list[Rect] = [(0, 0, 0, 0)] * len(bags)
    for position, index in enumerate(order):
        back[index] = found.rects[position]
    return Fit(tuple(back), True)


def apart(bodies: Sequence[Rect], numbers: Iterable[int]) -> list[int]:
    """Return of these bodies the first ones that do not overlap each other: their areas add up."""
    found: list[int] = []
    for k in numbers:
        if not any(_overlap(bodies[k], bodies[other]) for other in found):
            found.append(k)
    return found


def _overlap(one: Rect, other: Rect) -> bool:
    return all(one[a] < other[a] + other[a + 2] and other[a] < one[a] + one[a + 2] for a in (0, 1))


def covers(one: Flat, other: Flat) -> bool:
    """Tell whether one bag takes at least the room of another."""
    sides = zip(sorted(one[:2]), sorted(other[:2]), strict=True)
    return all(a >= b for a, b in sides) and one[2] & other[2] == other[2]


@dataclass(frozen=True, slots=True)
class FloorModel:
    """Whether bags fit, as a model for the solver."""

    model: cp_model.CpModel
    sides: "tuple[_Side, ...]"

    @classmethod
    def of(
        cls, plane: Plane, bags: Sequence[Flat], groups: Sequence[Sequence[int]] | None = None
    ) -> "FloorModel":
        """Return the model of bags on a plane.

        `groups` are the sets (positions in `bags`) that must be beside each other; by default all of them.
        """
        groups = [range(len(bags))] if groups is None else groups
        model = cp_model.CpModel()
        grid = _corners(plane, bags)
        sides = [_Side.make(model, plane, bag, grid) for bag in bags]
        for group in groups:
            _side_by_side(model, plane, [bags[i] for i in group], [sides[i] for i in group])
        _order_equal(model, bags, sides, groups)
        _mirror(model, plane, bags, sides, groups)
        return cls(model, tuple(sides))

    def read(self, answer: Answer | None) -> Fit:
        """Return what the solver found; undecided within its limit counts as not proven."""
        if answer is None or answer.verdict == "unknown":
            return Fit(None, False)
        if not answer.has_solution:
            return Fit(None, True)
        value = answer.solver.value
        return Fit(tuple((value(s.x), value(s.y), value(s.length), value(s.width)) for s in self.sides), True)


def fit_exactly(
    plane: Plane,
    bags: Sequence[Flat],
    account: Account,
    limit_s: float,
    groups: Sequence[Sequence[int]] | None = None,
) -> Fit:
    """Decide with the solver whether bags fit; for `groups` see `FloorModel`."""
    model = FloorModel.of(plane, bags, groups)
    return model.read(account.solve_each((model.model,), limit_s)[0])


def _side_by_side(
    model: cp_model.CpModel, plane: Plane, bags: Sequence[Flat], sides: Sequence["_Side"]
) -> None:
    """None of these bags overlaps another, nor a body in its way."""
    common = [k for k in range(len(plane.bodies)) if all(bag[2] >> k & 1 for bag in bags)]
    always = apart(plane.bodies, common)
    blocks = [_fixed(model, plane.bodies[k]) for k in always]
    model.add_no_overlap_2d([s.along for s in sides] + [b[0] for b in blocks],
                            [s.across for s in sides] + [b[1] for b in blocks])  # fmt: skip
    for k, body in enumerate(plane.bodies):
        hindered = [s for s, bag in zip(sides, bags, strict=True) if bag[2] >> k & 1]
        if hindered and k not in always:
            along, across = _fixed(model, body)
            model.add_no_overlap_2d(
                [*(s.along for s in hindered), along], [*(s.across for s in hindered), across]
            )
    widths = [*(s.width for s in sides), *(plane.bodies[k][3] for k in always)]
    model.add_cumulative([s.along for s in sides] + [b[0] for b in blocks], widths, plane.width)
    lengths = [*(s.length for s in sides), *(plane.bodies[k][2] for k in always)]
    model.add_cumulative([s.across for s in sides] + [b[1] for b in blocks], lengths, plane.length)


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
        cls, model: cp_model.CpModel, plane: Plane, bag: Flat, grid: tuple[list[int], list[int]]
    ) -> "_Side":
        long, wide, _ = bag
        least = min(long, wide)
        x = model.new_int_var_from_domain(_domain(grid[0], plane.length - least), "")
        y = model.new_int_var_from_domain(_domain(grid[1], plane.width - least), "")
        if long == wide:
            along = model.new_fixed_size_interval_var(x, long, "")
            return cls(x, y, long, wide, along, model.new_fixed_size_interval_var(y, wide, ""))
        turn = model.new_bool_var("")
        length, width = long + (wide - long) * turn, wide + (long - wide) * turn
        right, back = model.new_int_var(0, plane.length, ""), model.new_int_var(0, plane.width, "")
        along = model.new_interval_var(x, length, right, "")
        return cls(x, y, length, width, along, model.new_interval_var(y, width, back, ""))


def _corners(plane: Plane, bags: Sequence[Flat]) -> tuple[list[int], list[int]]:
    """Return where lower corners may be: bags can always be pushed left and down until they touch.

    So every corner is a sum of sides of other bags, counted from the wall or from the far edge of a body
    (Herz 1972, IBM J. Res. Dev. 16:462-469, canonical dissections; from memory).
    """
    xs = {0, *(body[0] + body[2] for body in plane.bodies)}
    ys = {0, *(body[1] + body[3] for body in plane.bodies)}
    for long, wide, _ in bags:
        for corners, end in ((xs, plane.length), (ys, plane.width)):
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


def _mirror(
    model: cp_model.CpModel,
    plane: Plane,
    bags: Sequence[Flat],
    sides: Sequence[_Side],
    groups: Sequence[Sequence[int]],
) -> None:
    """Where the plane is its own mirror image, the largest of the rarest bags stands in its nearer half."""
    kinds: dict[tuple[Flat, tuple[bool, ...]], list[int]] = {}
    for i, bag in enumerate(bags):
        kinds.setdefault((bag, tuple(i in group for group in groups)), []).append(i)
    if not kinds:
        return
    rarest = min(kinds.values(), key=lambda same: (len(same), -bags[same[0]][0] * bags[same[0]][1], same))
    side, (along, across) = sides[rarest[0]], plane.mirrored
    if along:
        model.add(cp_model.LinearExpr.sum((side.x, side.x, side.length)) <= plane.length)
    if across:
        model.add(cp_model.LinearExpr.sum((side.y, side.y, side.width)) <= plane.width)


def _order_equal(
    model: cp_model.CpModel,
    bags: Sequence[Flat],
    sides: Sequence[_Side],
    groups: Sequence[Sequence[int]],
) -> None:
    """Equal bags of the same groups are interchangeable: number them from left to right."""
    last: dict[tuple[Flat, tuple[bool, ...]], _Side] = {}
    for i, (bag, side) in enumerate(zip(bags, sides, strict=True)):
        kind = bag, tuple(i in group for group in groups)
        if kind in last:
            model.add(last[kind].x <= side.x)
        last[kind] = side

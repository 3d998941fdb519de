"""When a bag breaks a limit: doses of too little, too cold or too much, tallied step by step."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.science.packed import Limit, PackedBag

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.int64]

_NEVER = 1e9
"""A level that nothing reaches."""
_TINY = 1e-300


@dataclass(slots=True)
class _Row:
    """One kind of limit over all bags; a bag without it has a level that is never reached.

    `whole` tells where the limit still holds, `beyond` where the quantity stood beyond its level when the
    last step ended, None nowhere.
    """

    code: str
    quantity: str
    below: bool
    level: Array
    hours: Array
    ends: Flags
    edge: float
    hit_h: Array
    whole: Flags
    dose: Array | None
    beyond: Flags | None = None
    started: bool = False
    done: bool = False

    def take_columns(self, origin: Indices) -> None:
        """Go on with column `origin[i]` as column i."""
        self.level, self.hours, self.hit_h = (
            np.ascontiguousarray(table[:, origin]) for table in (self.level, self.hours, self.hit_h)
        )
        self.whole = np.ascontiguousarray(self.whole[:, origin])
        self.dose = None if self.dose is None else np.ascontiguousarray(self.dose[:, origin])
        self.beyond = None if self.beyond is None else self.beyond[:, origin]

    def beyond_in(self, values: Array) -> Flags:
        """Return where a quantity is beyond its level."""
        return np.asarray(values < self.level if self.below else values > self.level)


Kind = tuple[str, str, bool]
"""Code, quantity and side of a limit."""
Pace = Callable[[str, bool], Array | None]
"""How fast time counts beyond a level of a quantity, on its side; None when each hour counts once."""


def kinds_of(bags: Sequence[PackedBag]) -> tuple[Kind, ...]:
    """Return all kinds of limit that some bag has, in the order in which they are met."""
    return tuple(dict.fromkeys((x.code, x.quantity, x.below) for bag in bags for x in bag.limits))


class Tally:
    """Doses of every limit in every bag and scenario. Times count from the sealing of each bag."""

    def __init__(
        self, bags: Sequence[PackedBag], scenarios: int, kinds: Sequence[Kind] | None = None
    ) -> None:
        self._shape = (len(bags), scenarios)
        self._rows = [self._row(bags, *kind) for kind in (kinds_of(bags) if kinds is None else kinds)]

    def add(
        self,
        age_h: Array,
        hours: Array | float,
        before: Mapping[str, Array],
        after: Mapping[str, Array],
        pace: Pace,
    ) -> None:
        """Add one step.

        Parameters
        ----------
        age_h
            Hours since sealing at the start of the step, per bag.
        hours
            Length of the step, for each bag or for all.
        before, after
            Each quantity at both ends; it runs straight between them.
        pace
            Asked only for quantities that are beyond a level.
        """
        open_rows = [row for row in self._rows if not row.done]
        sides = {(row.quantity, row.below) for row in open_rows}
        nearest = {side: _extreme(after[side[0]], side[1]) for side in sides}
        for row in open_rows:
            x0, x1 = before[row.quantity], after[row.quantity]
            if not row.started:
                row.beyond, row.started = row.beyond_in(x0), True
            near = nearest[row.quantity, row.below]
            reached = near < row.edge if row.below else near > row.edge
            now = row.beyond_in(x1) if reached else None
            if now is not None or row.beyond is not None:
                self._add_to(row, _Span(age_h, hours, x0, x1), now, pace)
                row.beyond = now

    def take_columns(self, origin: Indices) -> None:
        """Go on with scenario `origin[i]` as scenario i."""
        self._shape = (self._shape[0], origin.size)
        for row in self._rows:
            row.take_columns(origin)

    def hold_h(self) -> tuple[Array, Indices]:
        """Return hours to the first broken limit (inf when none) and the index of its code."""
        first = np.full(self._shape, np.inf)
        code = np.full(self._shape, -1, dtype=np.int64)
        for index, row in enumerate(self._rows):
            hit = np.where(row.ends, row.hit_h, np.inf)
            sooner = hit < first
            first = np.where(sooner, hit, first)
            code = np.where(sooner, index, code)
        return first, code

    @property
    def codes(self) -> tuple[str, ...]:
        """Codes of all kinds of limit, in the order of their indices."""
        return tuple(row.code for row in self._rows)

    def hits_h(self) -> dict[str, Array]:
        """Return hours to each limit by code; inf where it was not broken."""
        return {row.code: row.hit_h for row in self._rows}

    def _row(self, bags: Sequence[PackedBag], code: str, quantity: str, below: bool) -> _Row:
        never = -_NEVER if below else _NEVER
        found: list[Limit | None] = [
            next((x for x in bag.limits if (x.code, x.quantity, x.below) == (code, quantity, below)), None)
            for bag in bags
        ]
        level = np.array([never if x is None else x.level for x in found])[:, None]
        hours = np.array([0.0 if x is None else x.hours for x in found])[:, None]
        return _Row(
            code=code,
            quantity=quantity,
            below=below,
            level=np.array(np.broadcast_to(level, self._shape)),
            hours=np.array(np.broadcast_to(hours, self._shape)),
            ends=np.array([x is not None and x.ends_hold for x in found])[:, None],
            edge=float(level.max() if below else level.min()),
            hit_h=np.full(self._shape, np.inf),
            whole=np.ones(self._shape, dtype=bool),
            dose=np.zeros(self._shape) if bool((hours > 0).any()) else None,
        )

    def _add_to(self, row: _Row, span: "_Span", now: Flags | None, pace: Pace) -> None:
        """Add a step to one kind of limit, in cells where it still holds and an end is beyond its level."""
        touched = now if row.beyond is None else row.beyond if now is None else row.beyond | now
        assert touched is not None
        cells = np.flatnonzero(touched & row.whole)
        hours = span.hours_of(cells)
        left: Array | float = 0.0
        share, late = span.share(cells, row)
        if row.dose is not None:
            speed = pace(row.quantity, row.below)
            paces: Array | float = 1.0 if speed is None else speed.take(cells)
            before = row.dose.take(cells)
            dose = before + share * hours * paces
            row.dose.reshape(-1)[cells] = dose
            needed = row.hours.take(cells)
            left = np.maximum(needed - before, 0.0) / paces
            broken = dose >= needed
        else:
            broken = np.ones(cells.size, dtype=bool)
        if isinstance(hours, np.ndarray):
            broken &= hours > 0
        if broken.any():
            starts = span.age_h.take(cells // span.x1.shape[1]) + np.where(late, hours * (1.0 - share), 0.0)
            row.hit_h.reshape(-1)[cells[broken]] = (starts + left)[broken]
            row.whole.reshape(-1)[cells[broken]] = False
            row.done = not row.whole.any()


@dataclass(frozen=True, slots=True)
class _Span:
    """One step: a quantity runs straight from x0 to x1. Cells are counted along bags, then scenarios."""

    age_h: Array
    hours: Array | float
    x0: Array
    x1: Array

    def hours_of(self, cells: Indices) -> Array | float:
        """Return the length of the step in some cells."""
        return self.hours.take(cells) if isinstance(self.hours, np.ndarray) else self.hours

    def share(self, cells: Indices, row: _Row) -> tuple[Array, Flags]:
        """Return the share of the step beyond a level, and whether it is the later part, in some cells."""
        level, x0, x1 = row.level.take(cells), self.x0.take(cells), self.x1.take(cells)
        beyond0, beyond1 = (level - x0, level - x1) if row.below else (x0 - level, x1 - level)
        over = np.maximum(beyond0, 0.0) + np.maximum(beyond1, 0.0)
        across = np.abs(beyond0) + np.abs(beyond1)
        return over / np.maximum(across, _TINY), beyond1 >= beyond0


def _extreme(values: Array, below: bool) -> float:
    return float(values.min() if below else values.max())

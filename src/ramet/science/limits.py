"""When a bag breaks a limit: doses of too little, too cold or too much, tallied step by step."""

from collections.abc import Mapping, Sequence
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
    """One kind of limit over all bags; a bag without it has a level that is never reached."""

    code: str
    quantity: str
    below: bool
    level: Array
    hours: Array
    ends: Flags
    dose: Array | None
    hit_h: Array
    edge: float
    done: bool = False


class Tally:
    """Doses of every limit in every bag and scenario. Times count from the sealing of each bag."""

    def __init__(self, bags: Sequence[PackedBag], scenarios: int) -> None:
        self._shape = (len(bags), scenarios)
        kinds: dict[tuple[str, str, bool], None] = {}
        for bag in bags:
            for limit in bag.limits:
                kinds[(limit.code, limit.quantity, limit.below)] = None
        self._rows = [self._row(bags, *kind) for kind in kinds]

    def add(
        self,
        age_h: Array,
        hours: Array,
        before: Mapping[str, Array],
        after: Mapping[str, Array],
        weights: Mapping[str, Array],
    ) -> None:
        """Add one step.

        Parameters
        ----------
        age_h
            Hours since sealing at the start of the step, per bag.
        hours
            Length of the step, per bag.
        before, after
            Each quantity at both ends; it runs straight between them.
        weights
            How fast time counts for a quantity; 1 when it is not named.
        """
        nearest = {
            (name, below): _extreme(before[name], after[name], below)
            for name, below in {(row.quantity, row.below) for row in self._rows}
        }
        for row in self._rows:
            if not row.done and (nearest[row.quantity, row.below] < row.edge) == row.below:
                x0, x1 = before[row.quantity], after[row.quantity]
                self._add_to(row, age_h, hours, x0, x1, weights.get(row.quantity))

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
        ends = np.array([x is not None and x.ends_hold for x in found])[:, None]
        edge = float(level.max() if below else level.min())
        return _Row(code, quantity, below, level, hours, ends, None, np.full(self._shape, np.inf), edge)

    def _add_to(
        self, row: _Row, age_h: Array, hours: Array, x0: Array, x1: Array, weight: Array | None
    ) -> None:
        share, late = _share_beyond(x0, x1, row.level, row.below)
        if not share.any():
            return
        if row.dose is None:
            row.dose = np.zeros(self._shape)
        pace = 1.0 if weight is None else weight
        gained = share * hours * pace
        left = row.hours - row.dose
        broken = (gained >= left) & (share > 0) & (hours > 0) & np.isinf(row.hit_h)
        if broken.any():
            starts = age_h + np.where(late, hours * (1.0 - share), 0.0)
            row.hit_h = np.where(broken, starts + np.maximum(left, 0.0) / pace, row.hit_h)
            row.done = bool(np.isfinite(row.hit_h).all())
        row.dose += gained


def _extreme(before: Array, after: Array, below: bool) -> float:
    if below:
        return float(min(before.min(), after.min()))
    return float(max(before.max(), after.max()))


def _share_beyond(x0: Array, x1: Array, level: Array, below: bool) -> tuple[Array, Flags]:
    """Return the share of a step spent beyond a level, and whether that share is its later part."""
    beyond0, beyond1 = (level - x0, level - x1) if below else (x0 - level, x1 - level)
    over = np.maximum(beyond0, 0.0) + np.maximum(beyond1, 0.0)
    across = np.abs(beyond0) + np.abs(beyond1)
    return over / np.maximum(across, _TINY), beyond1 >= beyond0

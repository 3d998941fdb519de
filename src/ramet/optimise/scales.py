"""The sharpest valid area against a set of bags, found by turns along and across.

All dual feasible functions of a side are the weights f with f(pattern) <= 1 for every row of bags that fits
side by side. For a fixed function across, the one along that makes the bags weigh most is a small linear
programme, and the other way round; a few turns from a few starts find what no fixed family holds
(Belov, Kartak, Rohling & Scheithauer 2009, Int. J. Oper. Res. conservative scales; from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from ramet.optimise.dual import Area, Scale
from ramet.optimise.problem import Rect

Vector = NDArray[np.float64]

FINE = 10_000
"""Weights are rounded down to this fraction, so that the areas are exact whole numbers."""

MOST_SIDES = 12
MOST_STARTS = 4
TURNS = 4
LEAST_EXCESS = 1e-4
TINY = 1e-3
"""Weight of sides that no bag here has: it lifts the cut for other bags, where that costs nothing."""


@dataclass(frozen=True, slots=True)
class _Load:
    """What lies on a floor: amounts of pairs of sides, along and across, as positions in their lists."""

    amounts: Vector
    along: NDArray[np.intp]
    across: NDArray[np.intp]


def sharpest_area(
    floor: tuple[int, int],
    bags: Sequence[tuple[int, int, int]],
    bodies: Sequence[Rect],
    sides: Sequence[int],
) -> Area | None:
    """Return a valid area that these bags and bodies overfill, or None when none was found."""
    length, width = floor
    here = {side for bag in bags for side in bag[:2]}
    lengths = _few(here | {body[2] for body in bodies}, sides, length)
    widths = _few(here | {body[3] for body in bodies}, sides, width)
    if not here or len(lengths) > MOST_SIDES or len(widths) > MOST_SIDES:
        return None
    load = _load(bags, bodies, lengths, widths)
    rows, columns = _rows(length, lengths), _rows(width, widths)
    for start in _starts(width, widths):
        weights = start
        value = 0.0
        for _ in range(TURNS):
            f = _heaviest(rows, load.along, load.amounts * weights[load.across])
            weights = _heaviest(columns, load.across, load.amounts * f[load.along])
            new = float(np.sum(load.amounts * f[load.along] * weights[load.across]))
            if new < value + LEAST_EXCESS:
                break
            value = new
        area = Area(_scale(lengths, f, rows), _scale(widths, weights, columns))
        taken = sum(area.of(b[0], b[1]) for b in bags) + sum(area.of_body(body) for body in bodies)
        if taken > area.room:
            return area
    return None


def _few(needed: set[int], others: Sequence[int], whole: int) -> tuple[int, ...]:
    wide = sorted(side for side in {*needed, *others} if side <= whole)
    return tuple(wide if len(wide) <= MOST_SIDES else sorted(side for side in needed if side <= whole))


def _load(
    bags: Sequence[tuple[int, int, int]],
    bodies: Sequence[Rect],
    lengths: tuple[int, ...],
    widths: tuple[int, ...],
) -> _Load:
    pairs: dict[tuple[int, int], float] = {}
    for a, b in [(bag[0], bag[1]) for bag in bags] + [(body[2], body[3]) for body in bodies]:
        straight = a in lengths and b in widths
        pair = (a, b) if straight else (b, a)
        pairs[pair] = pairs.get(pair, 0.0) + 1.0
    for side in set(lengths) & set(widths):
        pairs.setdefault((side, side), TINY)
    return _Load(
        np.array(list(pairs.values())),
        np.array([lengths.index(a) for a, _ in pairs]),
        np.array([widths.index(b) for _, b in pairs]),
    )


def _starts(width: int, widths: tuple[int, ...]) -> list[Vector]:
    sides = np.array(widths, dtype=np.float64)
    grids = [np.floor(sides / step) / (width // step) for step in widths]
    return [sides / width, *grids][:MOST_STARTS]


def _heaviest(rows: Vector, positions: NDArray[np.intp], gains: Vector) -> Vector:
    """Return the weights of sides, at most 1 for any row, that gain most."""
    total = np.zeros(rows.shape[1])
    np.add.at(total, positions, gains)
    solver = pywraplp.Solver.CreateSolver("GLOP")
    weights = [solver.NumVar(0.0, 1.0, "") for _ in total]
    for row in rows:
        most = solver.Constraint(-solver.infinity(), 1.0)
        for weight, times in zip(weights, row, strict=True):
            if times:
                most.SetCoefficient(weight, float(times))
    gain = solver.Objective()
    for weight, much in zip(weights, total, strict=True):
        gain.SetCoefficient(weight, float(much))
    gain.SetMaximization()
    solver.Solve()
    return np.array([min(1.0, max(0.0, weight.solution_value())) for weight in weights])


def _scale(sides: tuple[int, ...], weights: Vector, rows: Vector) -> Scale:
    """Return whole-number weights; a side between two known ones weighs as much as the smaller."""
    parts = [int(w) for w in np.floor(weights * FINE + 1e-6)]
    whole = max(int(row @ np.array(parts)) for row in rows)
    known = sorted(zip(sides, parts, strict=True))

    def of(length: int) -> int:
        return max((part for side, part in known if side <= length), default=0)

    return Scale(of, max(1, whole))


@lru_cache(maxsize=256)
def _rows(whole: int, sides: tuple[int, ...]) -> Vector:
    """Return every fullest row: how many bags of each side lie side by side until nothing more fits."""
    found: list[list[int]] = []

    def lay(k: int, left: int, counts: list[int]) -> None:
        if k < 0:
            if left < sides[0]:
                found.append(counts[::-1])
            return
        for n in range(left // sides[k], -1, -1):
            lay(k - 1, left - n * sides[k], [*counts, n])

    lay(len(sides) - 1, whole, [])
    return np.array(found, dtype=np.float64)

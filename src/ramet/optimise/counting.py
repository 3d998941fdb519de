"""What a set of items counts for a goal and those before it: pieces of its lines, as far as they are wanted.

Compiled: `together` and `closing` call it, so after a change here `__pycache__` has to go.
"""

from typing import NamedTuple

import numpy as np

from ramet.optimise.columns import Prices
from ramet.optimise.goals import GOALS
from ramet.optimise.kernels import NOWHERE, Ints, bare
from ramet.optimise.options import weight

SHORT = -1
"""What a set carries that falls short of an earlier goal."""


class Counted(NamedTuple):
    """What items count for: `weight` pieces of `line`, of which `wanted` go; a piece counts `worth`.

    `goal[line]` is the goal that it counts for, NOWHERE if none of these; of each but the last, so much is
    `held`.
    """

    line: Ints
    weight: Ints
    wanted: Ints
    worth: Ints
    goal: Ints
    held: Ints


@bare
def carried_by(pieces: Ints, counted: Counted) -> int:
    """Return what so many pieces of each line carry for the last goal; SHORT if less than is held."""
    total = 0
    for goal in range(len(counted.held)):
        if total < (counted.held[goal - 1] if goal else 0):
            return SHORT
        total = 0
        for line in range(len(pieces)):
            if counted.goal[line] == goal:
                total += min(pieces[line], counted.wanted[line]) * counted.worth[line]
    return total


def counted_at(prices: Prices) -> Counted:
    """Return what the items count for where a search at prices stands."""
    problem, rank = prices.problem, GOALS.index(prices.goal)
    gone = np.zeros(len(problem.lines), dtype=np.int64)
    for item in prices.gone:
        gone[problem.items[item].line] += weight(problem, item)
    return Counted(
        np.array([item.line for item in problem.items], dtype=np.int64),
        np.array([weight(problem, i) for i in range(len(problem.items))], dtype=np.int64),
        np.array([line.wanted for line in problem.lines], dtype=np.int64) - gone,
        np.array([line.value if line.rank == 2 else 1 for line in problem.lines], dtype=np.int64),
        np.array([line.rank if line.rank <= rank else NOWHERE for line in problem.lines], dtype=np.int64),
        np.array([*prices.limits[prices.equal], 0], dtype=np.int64),
    )

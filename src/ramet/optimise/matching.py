"""The best one-to-one matching of rows to columns: what placement could reach if nothing had a reach."""

import numpy as np
from numpy.typing import NDArray

Weights = NDArray[np.int64]


def matching_worth(weights: Weights) -> int:
    """Largest sum of weights with at most one column for each row and one row for each column.

    Weights are 0 or more, 0 where a pair is not allowed. Successive shortest augmenting paths with
    potentials (Kuhn 1955, Munkres 1957; in the form of Jonker & Volgenant 1987), exact in whole numbers.
    """
    if weights.size == 0:
        return 0
    table = weights if weights.shape[0] <= weights.shape[1] else weights.T
    row_of = _assigned(table.max() - table)
    columns = np.flatnonzero(row_of >= 0)
    return int(table[row_of[columns], columns].sum())


def _assigned(cost: Weights) -> NDArray[np.int64]:
    """Return the row of each column (-1: none) in the cheapest assignment of all rows."""
    rows, columns = cost.shape
    of_row, of_column = np.zeros(rows, np.int64), np.zeros(columns, np.int64)
    row_of = np.full(columns, -1, np.int64)
    for start in range(rows):
        far = np.full(columns, np.iinfo(np.int64).max // 4)
        via, done = np.full(columns, -1, np.int64), np.zeros(columns, dtype=bool)
        row, column, so_far = start, -1, 0
        reached: list[tuple[int, int, int]] = []
        while True:
            way = so_far + cost[row] - of_row[row] - of_column
            shorter = ~done & (way < far)
            far[shorter], via[shorter] = way[shorter], column
            column = int(np.argmin(np.where(done, np.iinfo(np.int64).max, far)))
            reached.append((row, column, so_far))
            so_far, done[column] = int(far[column]), True
            if row_of[column] < 0:
                break
            row = int(row_of[column])
        for at, into, when in reached:
            of_row[at] += so_far - when
            of_column[into] -= so_far - int(far[into])
        while column >= 0:
            before = int(via[column])
            row_of[column] = start if before < 0 else row_of[before]
            column = before
    return row_of

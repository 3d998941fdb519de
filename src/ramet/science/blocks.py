"""Small matrix times many columns, in blocks that the matrix library does on one thread."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_MOST_PRODUCTS = 200_000
"""Above some 260,000 products OpenBLAS starts threads; on a busy machine their waiting costs tenfold."""


def times_columns(matrix: Array, columns: Array) -> Array:
    """Return `matrix @ columns` for a small matrix and any number of columns."""
    rows, inner = matrix.shape
    count = columns.shape[1]
    width = max(1, _MOST_PRODUCTS // (rows * inner))
    if count <= width:
        return np.asarray(matrix @ columns)
    out = np.empty((rows, count))
    for first in range(0, count, width):
        np.matmul(matrix, columns[:, first : first + width], out=out[:, first : first + width])
    return out

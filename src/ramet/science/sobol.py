"""Scrambled Sobol points: even cover of many uncertainties with few draws.

Our own because the library that has them takes a second to load, a tenth of a whole plan
(docs/decisions/0006). Tests hold the plain points to that library's.
"""

import numpy as np
from numpy.typing import NDArray

BITS = 30
Whole = NDArray[np.int64]

_PRIMITIVES: tuple[tuple[int, int, tuple[int, ...]], ...] = (
    (1, 0, (1,)),
    (2, 1, (1, 3)),
    (3, 1, (1, 3, 1)),
    (3, 2, (1, 1, 1)),
    (4, 1, (1, 1, 3, 3)),
    (4, 4, (1, 3, 5, 13)),
    (5, 2, (1, 1, 5, 5, 17)),
    (5, 4, (1, 1, 5, 5, 5)),
    (5, 7, (1, 1, 7, 11, 19)),
    (5, 11, (1, 1, 5, 1, 1)),
    (5, 13, (1, 1, 1, 3, 11)),
    (5, 14, (1, 3, 5, 5, 31)),
    (6, 1, (1, 3, 3, 9, 7, 49)),
    (6, 13, (1, 1, 1, 15, 21, 21)),
    (6, 16, (1, 3, 1, 13, 27, 49)),
)
"""Degree, coefficients and first direction numbers of dimensions 2 to 16 (Joe & Kuo 2008, new-joe-kuo-6)."""
MOST_DIMENSIONS = len(_PRIMITIVES) + 1


def sobol_points_joe_kuo_2008(dimensions: int, count: int, seed: int | None) -> NDArray[np.float64]:
    """Return Sobol points in [0, 1), one a row; a power of two of them is balanced.

    Parameters
    ----------
    dimensions
        1 to 16.
    count
        How many points, from the first on.
    seed
        Of the scrambling: a random lower triangular matrix over GF(2) for each dimension, and a digital
        shift. None: plain points, the first of which is the origin.

    References
    ----------
    Joe & Kuo 2008, SIAM J. Sci. Comput. 30:2635, doi 10.1137/070709359 (direction numbers, from memory and
    held to another implementation). Matoušek 1998, J. Complexity 14:527, doi 10.1006/jcom.1998.0489.
    """
    if not 1 <= dimensions <= MOST_DIMENSIONS:
        raise ValueError(f"1 to {MOST_DIMENSIONS} dimensions, got {dimensions}")
    directions = np.array([_directions(number) for number in range(dimensions)], dtype=np.int64)
    shift = np.zeros(dimensions, dtype=np.int64)
    if seed is not None:
        dice = np.random.default_rng(seed)
        directions = _scrambled(directions, dice)
        shift = dice.integers(0, 1 << BITS, dimensions)
    index = np.arange(count)
    gray = index ^ (index >> 1)
    points = np.tile(shift, (count, 1))
    for bit in range(max(1, int(count - 1).bit_length())):
        points ^= np.where((gray >> bit & 1)[:, None] == 1, directions[:, bit], 0)
    return points / float(1 << BITS)


def _directions(number: int) -> list[int]:
    """Return the direction numbers of one dimension, the first with the highest bit set."""
    if number == 0:
        return [1 << (BITS - 1 - bit) for bit in range(BITS)]
    degree, coefficients, first = _PRIMITIVES[number - 1]
    found = [m << (BITS - 1 - bit) for bit, m in enumerate(first)]
    for bit in range(degree, BITS):
        value = found[bit - degree] ^ (found[bit - degree] >> degree)
        for back in range(1, degree):
            if coefficients >> (degree - 1 - back) & 1:
                value ^= found[bit - back]
        found.append(value)
    return found


def _scrambled(directions: Whole, dice: np.random.Generator) -> Whole:
    """Multiply the bits of all direction numbers by random lower triangular matrices with ones in front."""
    places = np.arange(BITS - 1, -1, -1)
    bits = directions[:, :, None] >> places & 1
    matrices = np.tril(dice.integers(0, 2, (directions.shape[0], BITS, BITS)), -1) + np.eye(
        BITS, dtype=np.int64
    )
    mixed = np.einsum("dij,dkj->dki", matrices, bits) & 1
    return np.asarray((mixed << places).sum(axis=2))

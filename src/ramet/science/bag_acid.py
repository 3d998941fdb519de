"""Acid and carbon dioxide of bag water: pH step by step, and CO2 as a line about the present."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.science.batch import K1, K12, KB, KW, State

Array = NDArray[np.float64]

_FURTHEST_MOVE = 0.8
"""Longest step of a Newton round in ln [H+]."""


@dataclass(frozen=True, slots=True)
class Line:
    """Dissolved CO2, its slopes, and the carbonate ion."""

    co2: Array
    by_carbon: Array
    by_alkalinity: Array
    ion: Array


def solve_ph(state: State, constants: Array, boron: Array, rounds: int) -> Array:
    """Take Newton rounds on ln [H+] from the pH at hand; return how alkalinity falls with ln [H+]."""
    c, s = constants, state
    h, k1, k12, kb = s.h_umol_kg, c[K1], c[K12], c[KB]
    two = k12 + k12
    for _ in range(rounds):
        k1h, hh = k1 * h, h * h
        inverse = hh + k1h
        inverse += k12
        np.divide(1.0, inverse, out=inverse)
        per = s.carbon * inverse
        slope = hh + k12
        slope *= k1h
        hh *= two
        slope += hh
        slope += hh
        slope *= per
        slope *= inverse
        k1h += two
        k1h *= per
        inverse = kb + h
        np.divide(kb, inverse, out=inverse)
        borate = boron * inverse
        excess = k1h + borate
        inverse -= 1.0
        borate *= inverse
        slope -= borate
        hydroxide = c[KW] / h
        excess += hydroxide
        excess -= h
        excess -= s.alkalinity
        slope += hydroxide
        slope += h
        excess /= slope
        np.minimum(excess, _FURTHEST_MOVE, out=excess)
        np.maximum(excess, -_FURTHEST_MOVE, out=excess)
        move = 0.5 * excess
        move += 1.0
        move *= excess
        move += 1.0
        h = h * move
    s.h_umol_kg = h
    return np.asarray(slope)


def co2_line(state: State, constants: Array, buffer: Array) -> Line:
    """Return dissolved CO2 and how it changes with carbon and with alkalinity, about the present."""
    c, s = constants, state
    h, k12 = s.h_umol_kg, c[K12]
    share, charge = h * h, c[K1] * h
    whole = share + charge
    whole += k12
    np.divide(1.0, whole, out=whole)
    share *= whole
    charge += k12
    charge += k12
    charge *= whole
    whole *= k12
    whole *= s.carbon
    co2 = s.carbon * share
    by_alkalinity = co2 * charge
    by_alkalinity /= buffer
    share += by_alkalinity * charge
    return Line(co2, share, -by_alkalinity, whole)

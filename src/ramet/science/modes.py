"""Exact steps of a linear box: its network taken apart into modes that fade each at its own rate."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.science.network import Network

Array = NDArray[np.float64]

_S_PER_H = 3600.0
_SERIES_BELOW = 1.0
_TERMS = 20


@dataclass(frozen=True, slots=True)
class Propagator:
    """Exact step of the typical network. Rows: the bodies, heat through the walls [J], air hours [°C h].

    `both` acts on the temperatures of the bodies and below them on constant rates of all rows, `linear` on
    rates that grow from nothing to this; `forced` on the outside at both ends of the step and on the heat
    into the air. The last two rows are what is gained in the step.
    """

    both: Array
    linear: Array
    forced: Array


@dataclass(frozen=True, slots=True)
class Modes:
    """Rates of the modes [1/h], the bodies in them, and what all rows take from outside and from heat."""

    rates_per_h: Array
    to_bodies: Array
    from_bodies: Array
    sums: Array
    outside: Array
    heat: Array

    def over(self, hours: float) -> Propagator:
        """Return the step of a length.

        Notes
        -----
        With f = exp, φ1, φ2 of the network's matrix (φk+1(z) = (φk(z) - φk(0)) / z); rows that sum up what
        the bodies do take the next function. Hochbruck & Ostermann 2010, Acta Numerica 19, 209.
        """
        z = self.rates_per_h * hours
        whole, one, two, three = _phi(z)
        n = z.size
        carry = np.vstack([self._bodies(whole), hours * self.sums @ self._bodies(one)])
        constant = np.zeros((n + 2, n + 2))
        linear = np.zeros((n + 2, n + 2))
        for matrix, here, further, rest in ((constant, one, two, 1.0), (linear, two, three, 0.5)):
            matrix[:n, :n] = hours * self._bodies(here)
            matrix[n:, :n] = hours * hours * self.sums @ self._bodies(further)
            matrix[n, n] = matrix[n + 1, n + 1] = rest * hours
        late = linear @ self.outside
        forced = np.stack([constant @ self.outside - late, late, constant @ self.heat], axis=1)
        return Propagator(np.hstack([carry, constant]), linear, forced)

    def _bodies(self, share: Array) -> Array:
        return np.asarray((self.to_bodies * share) @ self.from_bodies)


def modes_of(net: Network, wall_w_k: Array, free_w_k: float, air_w_k: float) -> Modes:
    """Return the modes of a network.

    Parameters
    ----------
    net
        Bodies and what lies between them.
    wall_w_k
        Conductance of each body to the outside.
    free_w_k
        Conductance of the air to the outside.
    air_w_k
        Conductance of the air to everything.
    """
    a, per = net.to_air_w_k, _S_PER_H / net.capacity_j_k
    loss = wall_w_k + a + net.between_w_k.sum(axis=1)
    between = net.between_w_k + np.outer(a, a) / air_w_k - np.diag(loss)
    root = np.sqrt(per)
    rates, vectors = np.linalg.eigh(root[:, None] * between * root)
    through = np.array([_S_PER_H * (wall_w_k.sum() + free_w_k - free_w_k * free_w_k / air_w_k)])
    return Modes(
        rates_per_h=rates,
        to_bodies=root[:, None] * vectors,
        from_bodies=vectors.T / root,
        sums=np.stack([-_S_PER_H * (wall_w_k + free_w_k * a / air_w_k), a / air_w_k]),
        outside=np.concatenate([(wall_w_k + a * free_w_k / air_w_k) * per, through, [free_w_k / air_w_k]]),
        heat=np.concatenate([a / air_w_k * per, [-_S_PER_H * free_w_k / air_w_k], [1.0 / air_w_k]]),
    )


def _phi(z: Array) -> tuple[Array, Array, Array, Array]:
    """Return exp, φ1, φ2, φ3 of numbers not above 0 but for rounding: a series where they are small."""
    small = np.abs(z) < _SERIES_BELOW
    safe = np.where(small, -1.0, z)
    near = np.where(small, z, 0.0)
    term = np.full_like(z, 1.0 / 6.0)
    series = term.copy()
    for k in range(4, 4 + _TERMS):
        term = term * near / k
        series += term
    one = np.expm1(safe) / safe
    two = (one - 1.0) / safe
    three = np.where(small, series, (two - 0.5) / safe)
    two = np.where(small, 0.5 + z * series, two)
    one = np.where(small, 1.0 + z * two, one)
    return np.exp(z), one, two, three

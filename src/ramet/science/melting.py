"""Packs and ice by enthalpy: how each nears the temperature around it, frozen, melting or thawed."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_S_PER_H = 3600.0
_SHORT = 1e-9
_LONG = 700.0
"""Time constants after which nothing is left of a difference."""


@dataclass(frozen=True, slots=True)
class PhaseBody:
    """A pack or ice by enthalpy, counted from the liquid at its melting point [J]."""

    melts_c: float
    latent_j: float
    solid_j_k: float
    liquid_j_k: float
    start_j: float
    to_air_w_k: float
    touches_m2: float

    def temperature_c(self, enthalpy_j: Array) -> Array:
        """Return temperature for an enthalpy."""
        below = np.minimum(enthalpy_j + self.latent_j, 0.0) / self.solid_j_k
        above = np.maximum(enthalpy_j, 0.0) / self.liquid_j_k
        return np.asarray(self.melts_c + below + above)

    def mean_c(self, enthalpy_j: Array, around_c: Array, w_k: float, hours: float) -> Array:
        """Return the mean temperature over a step in which the body nears a steady temperature around it.

        Parameters
        ----------
        enthalpy_j
            At the start [J].
        around_c
            What it exchanges heat with, in the mean [°C].
        w_k
            Conductance to it [W/K].
        hours
            Length of the step, above 0.

        Notes
        -----
        Exact: exponential while solid or liquid, linear while it melts or freezes, one after the other.
        """
        alike = self._mean_of_one_state(enthalpy_j, around_c, w_k, _S_PER_H * hours)
        if alike is not None:
            return alike
        ahead = self._nears(enthalpy_j, around_c, w_k, hours)
        return np.asarray(around_c - (ahead - enthalpy_j) / (w_k * _S_PER_H * hours))

    def _mean_of_one_state(
        self, enthalpy_j: Array, around_c: Array, w_k: float, seconds: float
    ) -> Array | None:
        """Return the same where all bodies stay melting, or liquid, or solid; None where some change."""
        low, high = float(enthalpy_j.min()), float(enthalpy_j.max())
        if low >= 0.0:
            if float(around_c.min()) >= self.melts_c:
                return self._mean_of_plain(enthalpy_j, around_c, w_k / self.liquid_j_k * seconds)
        elif high <= -self.latent_j:
            if float(around_c.max()) <= self.melts_c:
                return self._mean_of_plain(enthalpy_j, around_c, w_k / self.solid_j_k * seconds)
        elif low >= -self.latent_j and high <= 0.0:
            ahead = enthalpy_j + (w_k * seconds) * (around_c - self.melts_c)
            if float(ahead.min()) >= -self.latent_j and float(ahead.max()) <= 0.0:
                return np.full_like(enthalpy_j, self.melts_c)
        return None

    def _mean_of_plain(self, enthalpy_j: Array, around_c: Array, constants: float) -> Array:
        """Return the mean of what nears its surroundings over so many time constants without melting."""
        left = -math.expm1(-constants) / constants if constants > _SHORT else 1.0
        return np.asarray(around_c + (self.temperature_c(enthalpy_j) - around_c) * left)

    def _nears(self, enthalpy_j: Array, around_c: Array, w_k: float, hours: float) -> Array:
        over = around_c - self.melts_c
        warming = over > 0
        # counted from the near end of melting, in the direction it goes: first stage, melting, last stage
        first_j_k = np.where(warming, self.solid_j_k, self.liquid_j_k)
        last_j_k = np.where(warming, self.liquid_j_k, self.solid_j_k)
        drive = np.abs(over)
        done = np.where(warming, enthalpy_j + self.latent_j, -enthalpy_j)
        seconds = np.full_like(done, _S_PER_H * hours)
        # before melting: `done` below 0 rises towards `drive` times its capacity
        before = np.minimum(done, 0.0) / first_j_k
        rate = w_k / first_j_k
        reach = np.log1p(-before / np.maximum(drive, 1e-12)) / rate
        first = np.minimum(reach, seconds)
        gained = (drive - before) * -np.expm1(-np.minimum(rate * first, _LONG)) * first_j_k
        done = np.where(before < 0, done + gained, done)
        seconds -= np.where(before < 0, first, 0.0)
        # melting
        room = np.maximum(self.latent_j - done, 0.0)
        melted = np.minimum(w_k * drive * seconds, room)
        inside = (done >= -1e-9 * self.latent_j) & (room > 0)
        melted = np.where(inside, melted, 0.0)
        spent = melted / np.maximum(w_k * drive, 1e-12)
        done = done + melted
        seconds -= np.minimum(np.where(inside, spent, 0.0), seconds)
        # after: what lies beyond nears `drive`
        beyond = np.maximum(done - self.latent_j, 0.0) / last_j_k
        thawed = done >= self.latent_j * (1.0 - 1e-12)
        rest = np.exp(-np.minimum(w_k / last_j_k * seconds, _LONG))
        done = np.where(thawed, self.latent_j + (drive + (beyond - drive) * rest) * last_j_k, done)
        return np.asarray(np.where(warming, done - self.latent_j, -done))

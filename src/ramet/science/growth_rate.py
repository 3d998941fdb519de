"""How fast a strain grows: what papers say of its kind, corrected by a grower's own pairs of readings.

A rate is a length a year (tips and margins) or a share a day (heads and mats); the logarithm of either is
taken as normal, so a band is a factor up and down and no rate is negative.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Z90 = 1.6448536269514722
"""Half the width of a 90 % band of a normal variable, in standard deviations."""


@dataclass(frozen=True, slots=True)
class LogNormalRate:
    """A rate whose logarithm is normal: `mu` its mean, `sigma` its standard deviation."""

    mu: float
    sigma: float

    def __post_init__(self) -> None:
        if not self.sigma > 0:
            raise ValueError(f"sigma must be above 0, got {self.sigma}")

    def quantile(self, z: float) -> float:
        """Return the rate that lies `z` standard deviations from the median."""
        return math.exp(self.mu + z * self.sigma)


def rate_of_band(low: float, typical: float, high: float) -> LogNormalRate:
    """Return the rate whose median is `typical` and whose 90 % band is as wide as `low` to `high`.

    A low end of 0, or no band at all, takes the factor of the other side; without either, a factor of 2
    (single-study rates err that much: husbandry practice).
    """
    if not typical > 0:
        raise ValueError(f"a rate needs a typical value above 0, got {typical}")
    down = typical / low if low > 0 else 1.0
    up = high / typical
    factor = math.sqrt(down * up) if down > 1 and up > 1 else max(down, up)
    return LogNormalRate(math.log(typical), math.log(factor if factor > 1 else 2.0) / Z90)


def updated(
    prior: LogNormalRate, log_rates: ArrayLike, errors: ArrayLike, between_pieces: float
) -> LogNormalRate:
    """Return what is known of one strain's rate after observations of its pieces (see `updated_groups`)."""
    seen = np.atleast_1d(np.asarray(log_rates, dtype=float))
    group = np.zeros(len(seen), dtype=np.int64)
    mu, sigma = updated_groups(
        np.array([prior.mu]), np.array([prior.sigma]), group, seen, errors, between_pieces
    )
    return LogNormalRate(float(mu[0]), float(sigma[0]))


def updated_groups(
    mu: NDArray[np.float64],
    sigma: NDArray[np.float64],
    group: NDArray[np.int64],
    log_rates: ArrayLike,
    errors: ArrayLike,
    between_pieces: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return mean and standard deviation of the log rate of every strain after observations of its pieces.

    Parameters
    ----------
    mu, sigma : the rate of each strain before, by genus and form (log scale).
    group : the strain of each observation, as a place in `mu`.
    log_rates : natural logarithm of the rate of each observed piece.
    errors : standard error of each of them, from the error of its readings.
    between_pieces : how much pieces of one strain differ by place and luck (log scale, above 0).

    Notes
    -----
    The conjugate update of a normal mean with known variances: precisions add, means weigh by them.

    References
    ----------
    Gelman et al., Bayesian Data Analysis, 3rd ed., section 2.5 (from memory).
    """
    precision = 1.0 / (np.square(np.broadcast_to(errors, group.shape)) + between_pieces**2)
    count = len(mu)
    total = 1.0 / np.square(sigma) + np.bincount(group, precision, count)
    weighted = mu / np.square(sigma) + np.bincount(group, precision * np.asarray(log_rates), count)
    return weighted / total, np.sqrt(1.0 / total)


def log_rate(
    change: NDArray[np.float64], change_error: ArrayLike, time: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return logarithm and standard error of rates seen as changes over times.

    A change that its own error drowns enters as half that error, with an error on the log scale to match:
    a piece that seems to have shrunk by a millimetre counts as slow, and for little.
    """
    error = np.broadcast_to(np.asarray(change_error, dtype=float), change.shape)
    seen = np.maximum(change, error / 2)
    return np.log(seen / time), error / seen


def doubling_rate_d(days: float) -> float:
    """Return the specific growth rate [1/day] of something that doubles in so many days."""
    return math.log(2) / days

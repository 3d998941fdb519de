"""What passes between the water of a bag, its gas and the air in one step, and the arithmetic of steps."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.science.batch import OXYGEN_IN_AIR, Batch

Array = NDArray[np.float64]
Hours = Array | float
"""Length of a step: one for all bags, or one for every cell."""
Level = Array | float
"""One number for all, or one for each scenario."""

GAMMA = 1.0 - 0.5**0.5
CARRY = (1.0 - GAMMA) / GAMMA


@dataclass(frozen=True, slots=True)
class Exchange:
    """What hangs on the length of a step and the motion alone."""

    hours: Hours
    motion: Level
    g: Hours
    water: Array
    per_water: Array
    half_air: Array
    to_gas: Array
    co2_to_gas: Array
    water_and_gas: Array
    water_and_co2: Array
    film: Array
    dark: Hours
    mucus: Hours
    nearing: Hours


@dataclass(frozen=True, slots=True)
class Air:
    """Gas of a step, at its middle; `film` times γ and the hours."""

    oxygen_solubility: Array
    co2_solubility: Array
    per_umol: Array
    film: Array
    pressure_atm: Level


@dataclass(frozen=True, slots=True)
class Between:
    """An implicit exchange of water and gas: what the gas keeps, and what the water weighs with it."""

    inverse: Array
    held: Array
    lead: Array


def exchange_of(bags: Batch, hours: Hours, motion: Level) -> Exchange:
    """Return what steps of one length under one motion have in common."""
    p = bags.parameters
    g = GAMMA * hours
    to_gas = (bags.kl_still_kg_h + motion * bags.kl_more_kg_h) * g
    co2_to_gas = to_gas * p.kl_co2_ratio.typical
    return Exchange(
        hours=hours,
        motion=motion,
        g=g,
        water=bags.water_kg,
        per_water=1.0 / bags.water_kg,
        half_air=bags.half_share * OXYGEN_IN_AIR,
        to_gas=to_gas,
        co2_to_gas=co2_to_gas,
        water_and_gas=bags.water_kg + to_gas,
        water_and_co2=bags.water_kg + co2_to_gas,
        film=bags.film_umol_h_atm * g,
        dark=decay(hours, 1.0 / p.dark_decline_h.typical),
        mucus=decay(hours, p.mucus_decay_per_h.typical),
        nearing=1.0 - decay(hours, 1.0 / p.failing_after_h.typical),
    )


def between_of(gk: Array, water_and_gas: Array, film: Array, solubility: Array, per_umol: Array) -> Between:
    """Return the terms that both stages of a gas share; `gk` and `film` come times γ and the hours."""
    held = solubility * per_umol
    held *= gk
    inverse = per_umol * film
    inverse += held
    inverse += 1.0
    np.divide(1.0, inverse, out=inverse)
    held *= inverse
    return Between(inverse, held, water_and_gas - gk * held)


def carried(start: Array, stage: Array) -> Array:
    """Return where the second stage begins."""
    ahead = stage - start
    ahead *= CARRY
    ahead += start
    return np.asarray(ahead)


def full(values: Array, shape: tuple[int, ...]) -> Array:
    """Return values written out in full: quicker than to spread them in each operation."""
    return values if values.shape == shape else np.array(np.broadcast_to(values, shape))


def length_of(hours: Hours, shape: tuple[int, int]) -> Hours:
    """Return one number when all bags take the same step, else one for every cell."""
    if not isinstance(hours, np.ndarray):
        return float(hours)
    first = float(hours.flat[0])
    return first if bool((hours == first).all()) else np.array(np.broadcast_to(hours, shape))


def alike(length: Hours, other: Hours) -> bool:
    """Tell whether all bags take the same step as before."""
    return isinstance(length, float) and isinstance(other, float) and length == other


def decay(hours: Hours, per_h: float) -> Hours:
    """Return what is left after a time, of something that falls at a steady rate."""
    if isinstance(hours, np.ndarray):
        return np.asarray(np.exp(-per_h * hours))
    return float(np.exp(-per_h * hours))


def half_ratio(hours: Hours, last: Hours) -> Hours:
    """Return half of this step as a share of the last one, to carry a trend to the middle."""
    if isinstance(hours, float) and isinstance(last, float):
        return 0.5 * hours / last if last > 0 else 0.0
    known = np.asarray(last) > 0
    return np.where(known, 0.5 * np.asarray(hours) / np.where(known, last, 1.0), 0.0)

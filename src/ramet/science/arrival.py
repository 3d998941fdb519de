"""How long a sealed bag floats before it is opened: Newton's law of cooling in closed form."""

import math
from collections.abc import Sequence

_WETTED_CM2_PER_L23 = 500.0
"""A sphere of one litre has 484 cm²; a bag afloat is a little flatter and wet nearly all round its water."""


def bag_time_constant_min(
    water_l: float, heat_capacity_j_lk: float, transfer_w_m2k: float, wetted_cm2: float | None = None
) -> float:
    """Time in which the difference to the tank falls to 37 % [min].

    Parameters
    ----------
    heat_capacity_j_lk : of bag water per litre (density × heat capacity).
    transfer_w_m2k : through both still water films and the wall.
    wetted_cm2 : film under water; None takes it from the volume.
    """
    area_m2 = (wetted_cm2 or _WETTED_CM2_PER_L23 * water_l ** (2 / 3)) / 1e4
    return water_l * heat_capacity_j_lk / (transfer_w_m2k * area_m2) / 60


def opening_times_min(float_min: Sequence[float], per_bag_min: float, boxes_at_min: float) -> list[float]:
    """When each bag of an order is opened [min after opening is meant to start].

    Bags are opened one after the other, `per_bag_min` apart, and none before it has floated its time since
    the boxes came at `boxes_at_min` (0 or before).
    """
    times: list[float] = []
    for number, floats in enumerate(float_min):
        ready = boxes_at_min + floats
        after = times[-1] + per_bag_min if times else 0.0
        times.append(max(ready, after, number * per_bag_min))
    return times


def float_minutes(bag_c: float, tank_c: float, within_c: float, time_constant_min: float) -> float:
    """Minutes until a floating bag is within so many °C of the tank; 0 when it already is.

    Notes
    -----
    T(t) = T_tank + (T_bag - T_tank) exp(-t / tau), so t = tau ln(|T_bag - T_tank| / within).
    """
    apart = abs(bag_c - tank_c)
    return 0.0 if apart <= within_c else time_constant_min * math.log(apart / within_c)

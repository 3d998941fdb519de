"""What is not known about a journey, and joint draws of it."""

from dataclasses import dataclass, fields
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import Band
from ramet.science.packed import Lateness
from ramet.science.sobol import sobol_points_joe_kuo_2008

Array = NDArray[np.float64]

P95 = 1.6448536269514722
"""Standard normal deviate of the 95th percentile: low and high of a band are its 5th and 95th."""
_LEAST_SHARE = 1e-6
FURTHEST_DRAW = 3.0
"""No draw lies further out than this many standard deviations."""


@dataclass(frozen=True, slots=True)
class TransitParameters:
    """Every number of the journey model that is not a property of a bag, a box or an animal.

    Low and high of each band are read as its 5th and 95th percentile.
    """

    # drawn once per scenario
    respiration: Band
    q10: Band
    half_saturation_share: Band
    dark_floor_share: Band
    water_respiration_umol_l_h: Band
    kl_carried_cm_h: Band
    kl_still_cm_h: Band
    film_access: Band
    respiratory_quotient: Band
    skeleton_dissolution_ueq_cm2_h: Band
    ammonia_leak_share: Band
    mucus_umol_cm2: Band
    start_offset_c: Band
    # typical value used as it is
    respiration_peak_c: Band
    respiration_fall_c: Band
    dark_decline_h: Band
    mucus_decay_per_h: Band
    kl_co2_ratio: Band
    film_o2_cm3_m2_d_atm: Band
    film_co2_ratio: Band
    film_activation_kj_mol: Band
    bag_calcification_share: Band
    oxygen_to_nitrogen: Band
    failing_oxygen_share: Band
    failing_after_h: Band
    ammonium_uptake_nmol_cm2_h: Band
    ammonium_half_umol_kg: Band
    start_ammonium_umol_kg: Band
    start_oxygen_share: Band
    touch_share: Band
    mean_wall_share: Band
    bag_contact_w_m2k: Band
    pack_air_kj_l: Band
    low_ph: Band
    double_dose_oxygen_mg_l: Band
    opened_ph: Band


DRAWN = (
    "respiration",
    "tissue_area",
    "q10",
    "half_saturation_share",
    "dark_floor_share",
    "blank",
    "kl_carried_cm_h",
    "film_access",
    "respiratory_quotient",
    "skeleton_dissolution_ueq_cm2_h",
    "ammonia_leak_share",
    "mucus_umol_cm2",
    "foam_k",
    "ambient",
    "pack_watts",
    "start_offset_c",
)
"""What differs between scenarios, in the order of the Sobol dimensions.

`tissue_area`, `blank`, `foam_k`, `pack_watts` and `ambient` take their bands from animals, bags, boxes, packs
and surroundings; the others are fields of `TransitParameters`.
"""

WORDS = {
    "respiration": "how much the coral breathes",
    "tissue_area": "how much live tissue there is",
    "q10": "how breathing changes with temperature",
    "half_saturation_share": "how far the coral throttles at low oxygen",
    "dark_floor_share": "how far breathing falls in the dark",
    "blank": "what plug, rock, film and water breathe",
    "kl_carried_cm_h": "how much the journey shakes the water",
    "film_access": "how much fresh air the film sees",
    "respiratory_quotient": "how much carbon dioxide comes with breathing",
    "skeleton_dissolution_ueq_cm2_h": "how fast the skeleton buffers the water",
    "ammonia_leak_share": "how much ammonia the coral lets go",
    "mucus_umol_cm2": "how much slime came along",
    "foam_k": "how well the foam insulates",
    "ambient": "the weather",
    "pack_watts": "how hot the packs run",
    "start_offset_c": "how warm the bags are packed",
}
"""The same in a grower's words."""

_ADDITIVE = frozenset({"start_offset_c"})
_SHARES = frozenset({"film_access", "half_saturation_share", "dark_floor_share", "ammonia_leak_share"})


@dataclass(frozen=True, slots=True)
class Scenarios:
    """Joint draws. `deviates` holds one standard normal deviate per drawn name and scenario."""

    deviates: dict[str, Array]
    lateness: Lateness
    seed: int

    @property
    def count(self) -> int:
        """How many scenarios there are."""
        return int(self.deviates[DRAWN[0]].size)

    def part(self, start: int, stop: int) -> "Scenarios":
        """Return the scenarios from `start` up to, not including, `stop`."""
        cut = {name: values[start:stop] for name, values in self.deviates.items()}
        return Scenarios(cut, self.lateness, self.seed)


def draw(parameters: TransitParameters, lateness: Lateness, count: int, seed: int) -> Scenarios:
    """Return `count` joint draws from scrambled Sobol points.

    Parameters
    ----------
    parameters
        Checked here for bands that can be drawn from; the draws themselves are standard deviates.
    lateness
        Chances of being late; kept with the draws.
    count
        Number of scenarios; a power of two gives balanced points.
    seed
        Seed of the scrambling.
    """
    if count < 1:
        raise ValueError(f"at least one scenario, got {count}")
    _check(parameters)
    points = sobol_points_joe_kuo_2008(len(DRAWN), count, seed)
    z = np.clip(_deviates(points), -FURTHEST_DRAW, FURTHEST_DRAW)
    return Scenarios({name: np.ascontiguousarray(z[:, i]) for i, name in enumerate(DRAWN)}, lateness, seed)


def _deviates(shares: Array) -> Array:
    """Return standard normal deviates, by the standard library: the one with arrays takes long to load."""
    inside = np.clip(shares, _LEAST_SHARE, 1.0 - _LEAST_SHARE)
    found = map(NormalDist().inv_cdf, inside.ravel().tolist())
    return np.fromiter(found, dtype=float, count=inside.size).reshape(shares.shape)


def central(lateness: Lateness | None = None) -> Scenarios:
    """Return the single scenario in which every parameter has its typical value."""
    zero = {name: np.zeros(1) for name in DRAWN}
    return Scenarios(zero, lateness or Lateness(0.0, 0.0, 0.0), 0)


def spread(band: Band, deviates: Array, additive: bool = False) -> Array:
    """Return a band's value at each standard deviate.

    Notes
    -----
    Two-piece distribution with the typical value as median: log-normal for positive bands, normal for
    additive ones; low and high are the 5th and 95th percentile.
    """
    if additive:
        return (
            band.typical
            + np.where(deviates < 0, (band.typical - band.low) / P95, (band.high - band.typical) / P95)
            * deviates
        )
    if band.typical == 0:
        return np.maximum(0.0, deviates) * (band.high / P95)
    lowest = max(band.low, 1e-3 * band.typical)
    down, up = np.log(band.typical / lowest) / P95, np.log(band.high / band.typical) / P95
    return np.asarray(band.typical * np.exp(np.where(deviates < 0, down, up) * deviates))


def drawn(parameters: TransitParameters, scenarios: Scenarios, name: str) -> Array:
    """Return the value of one drawn parameter in every scenario."""
    values = spread(getattr(parameters, name), scenarios.deviates[name], additive=name in _ADDITIVE)
    return np.minimum(values, 1.0) if name in _SHARES else values


def _check(parameters: TransitParameters) -> None:
    for field in fields(parameters):
        band: Band = getattr(parameters, field.name)
        if field.name not in _ADDITIVE and band.low < 0:
            raise ValueError(f"{field.name} must not be negative, got {band.low}")

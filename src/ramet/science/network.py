"""What touches what in a box: conductances between bags, head-space air and the outside.

Only the wetted lower part of a bag carries heat; the gas above it counts as head-space. A wall patch that
a bag touches couples the bag straight to the outside; the rest of the inner wall couples the air.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.science.melting import PhaseBody
from ramet.science.packed import ColdPack, HeatPack, PackedBag, PackedBox, PlainMass
from ramet.science.scenarios import TransitParameters
from ramet.science.seawater import heat_capacity_j_kgk, litre_to_kg

Array = NDArray[np.float64]

TOUCH_MM = 6
"""Bodies no further apart than this touch: a full bag bulges as much."""
_BETWEEN_GAS_AND_WATER = 1.0 / 3.0
"""Head-space air reaches the water through the gas of a bag over three films in series."""
ICE_LATENT_J_KG = 334e3
ICE_CP_J_KGK = 2100.0


@dataclass(frozen=True, slots=True)
class Walls:
    """How an insulated wall passes heat, per inner m² (areas grow outwards)."""

    area_m2: float
    thickness_m: float
    spread: float
    h_in_w_m2k: float
    outside_m2k_w: float
    k_24_w_mk: float
    k_slope: float

    def conductivity(self, foam_c: Array) -> Array:
        """Return foam conductivity at a mean foam temperature [W/(m K)]."""
        return np.asarray(self.k_24_w_mk * np.maximum(1.0 + self.k_slope * (foam_c - 24.0), 0.3))

    def resistance_m2k_w(self, conductivity: Array) -> Array:
        """Return resistance from a touching bag to the outside air [m² K / W]."""
        return np.asarray((self.thickness_m / self.spread) / conductivity + self.outside_m2k_w)

    def touched_w_m2k(self, conductivity: Array) -> Array:
        """Return conductance from a touching bag to the outside air [W/(m² K)]."""
        return np.asarray(1.0 / self.resistance_m2k_w(conductivity))

    def free_w_m2k(self, conductivity: Array) -> Array:
        """Return conductance from the head-space air to the outside air [W/(m² K)]."""
        return np.asarray(1.0 / (self.resistance_m2k_w(conductivity) + 1.0 / self.h_in_w_m2k))


@dataclass(frozen=True, slots=True)
class Network:
    """A box as conductances. Nodes are the bags in order, then plain masses without ice."""

    walls: Walls
    capacity_j_k: Array
    touches_m2: Array
    to_air_w_k: Array
    between_w_k: Array
    start_c: Array
    free_wall_m2: float
    leak_w_k: float
    phases: tuple[PhaseBody, ...]
    heat_packs: tuple[HeatPack, ...]
    air_l: float


def network(box: PackedBox, parameters: TransitParameters) -> Network:
    """Return the conductances of a packed box."""
    walls = wall_of(box)
    share, mean_share = parameters.touch_share.typical, parameters.mean_wall_share.typical
    touches = [_touched_m2(bag, box, share, mean_share) for bag in box.bags]
    wet = [_wetted_m2(bag) for bag in box.bags]
    through_gas = [
        _BETWEEN_GAS_AND_WATER * box.h_in_w_m2k * bag.surface_cm2 * 1e-4 if bag.gas_l > 0 else 0.0
        for bag in box.bags
    ]
    between = _contacts(box.bags, share * parameters.bag_contact_w_m2k.typical)
    beside = between.sum(axis=1) / max(parameters.bag_contact_w_m2k.typical, 1e-9)
    air = [
        box.h_in_w_m2k * max(w - t - b, 0.0) + g
        for w, t, b, g in zip(wet, touches, beside, through_gas, strict=True)
    ]
    plain = [mass for mass in box.masses if mass.ice_kg == 0]
    surfaces = [_mass_surface_m2(mass) for mass in plain]
    n = len(box.bags)
    full = np.zeros((n + len(plain), n + len(plain)))
    full[:n, :n] = between
    touched = touches + [mean_share * a for a in surfaces]
    phases = [_cold_pack(pack) for pack in box.cold_packs]
    phases += [_iced(mass, box.h_in_w_m2k, mean_share) for mass in box.masses if mass.ice_kg > 0]
    free = walls.area_m2 - sum(touched) - sum(phase.touches_m2 for phase in phases)
    return Network(
        walls=walls,
        capacity_j_k=np.array([_capacity(b) for b in box.bags] + [m.mass_kg * m.cp_j_kgk for m in plain]),
        touches_m2=np.array(touched),
        to_air_w_k=np.array(air + [box.h_in_w_m2k * (1 - mean_share) * a for a in surfaces]),
        between_w_k=full,
        start_c=np.array([b.start_c for b in box.bags] + [m.start_c for m in plain]),
        free_wall_m2=max(free, 0.02 * walls.area_m2),
        leak_w_k=box.lid_leak_w_k,
        phases=tuple(phases),
        heat_packs=box.heat_packs,
        air_l=_air_l(box),
    )


def wall_of(box: PackedBox) -> Walls:
    """Return the wall of a box: foam over the geometric mean of inner and outer area, carton outside."""
    x, y, z = (side * 1e-3 for side in box.inner_mm)
    t = box.wall_mm * 1e-3
    inner = 2 * (x * y + y * z + x * z)
    a, b, c = x + 2 * t, y + 2 * t, z + 2 * t
    outer = 2 * (a * b + b * c + a * c)
    return Walls(
        area_m2=inner,
        thickness_m=t,
        spread=math.sqrt(outer / inner),
        h_in_w_m2k=box.h_in_w_m2k,
        outside_m2k_w=(box.carton_m2k_w + 1.0 / box.h_out_w_m2k) * inner / outer,
        k_24_w_mk=box.k_w_mk.typical,
        k_slope=box.k_slope,
    )


def water_depth_mm(bag: PackedBag) -> float:
    """Return how high the water stands in the outer size of a bag [mm]."""
    x, y, z = bag.size_mm
    return min(float(z), bag.water_l * 1e6 / (x * y))


def _capacity(bag: PackedBag) -> float:
    kg = bag.water_l * float(litre_to_kg(bag.start_c, bag.salinity))
    return kg * float(heat_capacity_j_kgk(bag.start_c, bag.salinity))


def _wetted_m2(bag: PackedBag) -> float:
    x, y, _ = bag.size_mm
    return (x * y + 2 * (x + y) * water_depth_mm(bag)) * 1e-6


def _touched_m2(bag: PackedBag, box: PackedBox, share: float, mean_share: float) -> float:
    """Return the wetted area that touches inner walls; at an unknown place, that of a mean place."""
    if bag.at_mm is None:
        return mean_share * _wetted_m2(bag)
    (x, y, z), (sx, sy, _), depth = bag.at_mm, bag.size_mm, water_depth_mm(bag)
    bx, by, _ = box.inner_mm
    area = sx * sy if z <= TOUCH_MM else 0.0
    area += sy * depth * ((x <= TOUCH_MM) + (bx - x - sx <= TOUCH_MM))
    area += sx * depth * ((y <= TOUCH_MM) + (by - y - sy <= TOUCH_MM))
    return share * area * 1e-6


def _contacts(bags: Sequence[PackedBag], conductance_w_m2k: float) -> Array:
    """Return conductances between bags that stand side by side [W/K]."""
    out = np.zeros((len(bags), len(bags)))
    for i, one in enumerate(bags):
        for j in range(i):
            area = _shared_m2(one, bags[j])
            out[i, j] = out[j, i] = conductance_w_m2k * area
    return out


def _shared_m2(one: PackedBag, other: PackedBag) -> float:
    if one.at_mm is None or other.at_mm is None:
        return 0.0
    low = _overlap(one.at_mm[2], water_depth_mm(one), other.at_mm[2], water_depth_mm(other))
    area = 0.0
    for along, across in ((0, 1), (1, 0)):
        gap = max(one.at_mm[along], other.at_mm[along]) - min(
            one.at_mm[along] + one.size_mm[along], other.at_mm[along] + other.size_mm[along]
        )
        if abs(gap) <= TOUCH_MM:
            area += low * _overlap(
                one.at_mm[across], one.size_mm[across], other.at_mm[across], other.size_mm[across]
            )
    return area * 1e-6


def _overlap(start: float, length: float, other_start: float, other_length: float) -> float:
    return max(0.0, min(start + length, other_start + other_length) - max(start, other_start))


def _mass_surface_m2(mass: PlainMass) -> float:
    """Return the surface of a cube of water of this mass."""
    return 6.0 * float((mass.mass_kg * 1e-3) ** (2.0 / 3.0))


def _cold_pack(pack: ColdPack) -> PhaseBody:
    solid = pack.mass_kg * (pack.cp_solid_j_kgk or pack.cp_j_kgk)
    liquid, latent = pack.mass_kg * pack.cp_j_kgk, pack.mass_kg * pack.latent_j_kg
    above = pack.start_c - pack.melts_c
    start = liquid * above if above >= 0 else solid * above - latent
    return PhaseBody(pack.melts_c, latent, solid, liquid, start, pack.ua_w_k, 0.0)


def _iced(mass: PlainMass, h_in: float, mean_share: float) -> PhaseBody:
    """Return goods with ice as one body at one temperature; the ice melts at 0 °C."""
    ice = mass.ice_kg * ICE_LATENT_J_KG
    liquid = mass.mass_kg * mass.cp_j_kgk
    solid = mass.ice_kg * ICE_CP_J_KGK + (mass.mass_kg - mass.ice_kg) * mass.cp_j_kgk
    start = (mass.mass_kg - mass.ice_kg) * mass.cp_j_kgk * mass.start_c - ice
    start += mass.ice_kg * ICE_CP_J_KGK * min(mass.start_c, 0.0)
    area = _mass_surface_m2(mass)
    return PhaseBody(0.0, ice, solid, liquid, start, h_in * (1 - mean_share) * area, mean_share * area)


def _air_l(box: PackedBox) -> float:
    x, y, z = box.inner_mm
    bags = sum(bag.water_l + bag.gas_l for bag in box.bags)
    masses = sum(mass.mass_kg for mass in box.masses) + sum(pack.mass_kg for pack in box.cold_packs)
    return max(x * y * z * 1e-6 - bags - masses, 0.5)

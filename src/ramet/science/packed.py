"""What the journey model is told: animals in bags, bags in boxes, boxes on the road. Frozen numbers only."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import Band

Mm3 = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Limit:
    """A dose that ends the hold: a quantity beyond `level` for `hours` in all (0: at once).

    `quantity` is one of "oxygen_mg_l", "temperature_c", "opened_ammonia_umol_l"; `below` says which
    side harms. Only limits with `ends_hold` count for the hold time; the others are cautions.
    """

    code: str
    quantity: str
    below: bool
    level: float
    hours: float
    ends_hold: bool = True


@dataclass(frozen=True, slots=True)
class Animal:
    """What one piece does to its water. Respiration per cm² of live tissue at 25 °C, lights out, fasted.

    `q10` replaces the general one for the bag that holds the piece.
    """

    tissue_area_cm2: Band
    respiration_umol_cm2_h: Band
    contour_area_cm2: Band
    calcification_meq_cm2_d: Band
    symbiotic: bool = True
    q10: float | None = None


@dataclass(frozen=True, slots=True)
class PackedBag:
    """A sealed bag. `blank_umol_h` is the oxygen demand of plug, rock and film at 25 °C, beside the animals.

    `sealed_before_h` is how long before hour 0 of the journey the bag is sealed; until then it stands at
    `start_c`. `at_mm` is the lower corner in the box; None means the place in the box is not known.
    A flexible bag keeps the pressure around it and shrinks as its oxygen goes; a `rigid` cup keeps its
    volume. `film_access` overrides the share of free outside air that the film sees.
    """

    id: str
    water_l: float
    gas_l: float
    oxygen_fraction: float
    film_um: float
    layers: int
    film_area_cm2: float
    surface_cm2: float
    start_c: float
    salinity: float
    alkalinity_meq_l: float
    ph_total: float
    size_mm: Mm3
    at_mm: Mm3 | None
    animals: tuple[Animal, ...]
    blank_umol_h: Band
    limits: tuple[Limit, ...]
    sealed_before_h: float = 0.0
    rigid: bool = False
    film_access: float | None = None


@dataclass(frozen=True, slots=True)
class HeatPack:
    """An iron heat pack in the lid: watts after `warm_up_h` until `lasts_h`; `vented` lets it breathe."""

    watts: Band
    warm_up_h: float
    lasts_h: float
    starts_h: float
    vented: bool


@dataclass(frozen=True, slots=True)
class ColdPack:
    """Ice, gel or phase-change pack by enthalpy. `cp_solid_j_kgk` None means the same as when liquid."""

    mass_kg: float
    melts_c: float
    latent_j_kg: float
    cp_j_kgk: float
    start_c: float
    ua_w_k: float
    cp_solid_j_kgk: float | None = None


@dataclass(frozen=True, slots=True)
class PlainMass:
    """Anything else in a box that stores heat, with any part of it that starts as ice."""

    mass_kg: float
    cp_j_kgk: float
    start_c: float
    ice_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class PackedBox:
    """An insulated box. `k_w_mk` is the foam at 24 °C; `k_slope` its relative change per °C of mean foam."""

    id: str
    inner_mm: Mm3
    wall_mm: float
    k_w_mk: Band
    k_slope: float
    h_in_w_m2k: float
    h_out_w_m2k: float
    carton_m2k_w: float
    lid_leak_w_k: float
    bags: tuple[PackedBag, ...]
    heat_packs: tuple[HeatPack, ...] = ()
    cold_packs: tuple[ColdPack, ...] = ()
    masses: tuple[PlainMass, ...] = ()


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The air around the boxes on a time grid from hour 0, linear between points.

    `offset_c` is the half-width of the forecast error. `motion` is 1 when carried, 0 when still.
    A delay of d hours holds the value at `delay_at_h` for d hours more.
    """

    hours: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    motion: NDArray[np.float64]
    pressure_atm: NDArray[np.float64]
    offset_c: float
    delay_at_h: float


@dataclass(frozen=True, slots=True)
class Lateness:
    """How late the boxes are opened: a chance of some hours, a chance of a whole day."""

    some_chance: float
    some_h: float
    day_chance: float

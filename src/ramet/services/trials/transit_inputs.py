"""From reference rows and gear to what the journey model is told. One function per kind of thing."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime, tzinfo

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import Band
from ramet.domain.words import Form, Stance, Tolerance
from ramet.formats.shipment import Delay, LegWish
from ramet.reference.facts import BagType, Fact, FoamType, PackType
from ramet.reference.tables import Reference
from ramet.science.packed import (
    Animal,
    ColdPack,
    HeatPack,
    Lateness,
    Limit,
    PackedBag,
    PackedBox,
    PlainMass,
    Surroundings,
)
from ramet.science.scenarios import TransitParameters
from ramet.science.spread import product

Array = NDArray[np.float64]

_CHANGE_H = 0.1
"""A box that is handed over meets its new surroundings within this time."""
_WARMEST_HOUR = 15.0
_AT_ONCE_BEYOND_K = 2.0
"""A limit that acts at once lies at least this far beyond the one that needs hours."""
_FREEZES_NEAR_C = 1.0


@dataclass(frozen=True, slots=True)
class BagGeometry:
    """What a filled bag offers to gas: water surface, and film all round [cm²]."""

    surface_cm2: float
    film_area_cm2: float


def transit_parameters(reference: Reference) -> TransitParameters:
    """Return every parameter of the journey model from the reference."""
    bands = {field.name: reference.parameter(field.name).band for field in fields(TransitParameters)}
    return TransitParameters(**bands)


def limits_for(reference: Reference, taxon: str, form: Form) -> tuple[Limit, ...]:
    """Return the limits of a taxon: those of its tolerance class, with its own cold and heat limits."""
    genus = reference.genus(taxon)
    tolerance = Tolerance.ORDINARY if genus is None else genus.tolerance
    limits = [
        Limit(row.code, row.quantity, row.below, row.level, row.hours, row.ends_hold)
        for row in reference.limits(tolerance)
    ]
    own = {
        code: reference.trait(taxon, form, trait)
        for code, trait in (("cold", "cold_limit_c"), ("heat", "heat_limit_c"))
    }
    return tuple(_with_own(limit, own) for limit in limits)


def animal(
    reference: Reference, taxon: str, form: Form, tissue_area_cm2: Band, contour_area_cm2: Band
) -> tuple[Animal, tuple[str, ...]]:
    """Return a coral as the model sees it, and which of its numbers are class defaults."""
    genus = reference.genus(taxon)
    facts = [
        reference.trait(taxon, form, name) for name in ("respiration_umol_cm2_h", "calcification_meq_cm2_d")
    ]
    found = Animal(
        tissue_area_cm2=tissue_area_cm2,
        respiration_umol_cm2_h=facts[0].band,
        contour_area_cm2=contour_area_cm2,
        calcification_meq_cm2_d=facts[1].band,
        symbiotic=genus is None or genus.symbiotic,
    )
    return found, tuple(f"{taxon}: {fact.name}" for fact in facts if fact.is_default)


def blank_umol_h(reference: Reference, rock_cm2: Band | None = None) -> Band:
    """Return the oxygen demand of what a piece is mounted on at 25 °C [µmol/h]: a plug, or live rock.

    `rock_cm2` is the ground of live rock that comes along; None means a plug with its film.
    """
    if rock_cm2 is None:
        return reference.parameter("plug_blank_umol_h").band
    return product(reference.parameter("rock_blank_umol_cm2_h").band, rock_cm2)


def bag_geometry(bag: BagType, stance: Stance, water_l: float, gas_l: float) -> BagGeometry:
    """Return water surface and film area of a filled bag.

    Notes
    -----
    A tied bag of flat width w filled round has radius w/π and cross-section w²/π. Lying, the surface is
    the chord of the water's segment over the length of the body. A rigid cup is given by π/2 of its
    inner diameter as flat width. A divided bag is as many bodies, each with its share of water and gas.
    """
    if bag.compartments > 1:
        pockets = bag.compartments
        one = bag_geometry(replace(bag, compartments=1), stance, water_l / pockets, gas_l / pockets)
        return BagGeometry(one.surface_cm2 * pockets, one.film_area_cm2 * pockets)
    width_cm = bag.flat_width_mm / 10
    radius, section = width_cm / math.pi, width_cm**2 / math.pi
    long_cm = (water_l + gas_l) * 1e3 / section
    film = 2 * width_cm * long_cm + 2 * section
    if stance is Stance.STANDS or gas_l <= 0:
        return BagGeometry(section, film)
    return BagGeometry(_chord_cm(radius, water_l / (water_l + gas_l)) * long_cm, film)


def packed_box(
    reference: Reference,
    id: str,
    inner_mm: tuple[float, float, float],
    wall_mm: float,
    foam: FoamType,
    bags: Sequence[PackedBag],
    packs: Mapping[str, int] | None = None,
    starts_h: float = 0.0,
    cold_start_c: float = -18.0,
    vented: bool = True,
    masses: Sequence[PlainMass] = (),
) -> PackedBox:
    """Return a box with its bags and packs.

    `packs` counts packs by their id in the reference. Heat packs start at `starts_h`; cold packs come
    frozen at `cold_start_c`. A heat pack that is not `vented` lives on the air inside the box.
    """
    chosen = [reference.packs[kind] for kind, count in (packs or {}).items() for _ in range(count)]
    typical = {name: reference.parameter(name).band.typical for name in _WALL_PARAMETERS}
    inner = (round(inner_mm[0]), round(inner_mm[1]), round(inner_mm[2]))
    return PackedBox(
        id=id,
        inner_mm=inner,
        wall_mm=wall_mm,
        k_w_mk=foam.k_w_mk,
        k_slope=foam.k_slope_per_c,
        h_in_w_m2k=typical["wall_h_in_w_m2k"],
        h_out_w_m2k=typical["wall_h_out_w_m2k"],
        carton_m2k_w=typical["carton_m2k_w"],
        lid_leak_w_k=typical["lid_leak_w_k"],
        bags=tuple(bags),
        heat_packs=tuple(heat_pack(pack, starts_h, vented) for pack in chosen if pack.warms),
        cold_packs=tuple(cold_pack(reference, pack, cold_start_c) for pack in chosen if not pack.warms),
        masses=tuple(masses),
    )


def heat_pack(pack: PackType, starts_h: float = 0.0, vented: bool = True) -> HeatPack:
    """Return an iron heat pack from its catalogue row."""
    if pack.watts is None:
        raise ValueError(f"{pack.id} is not a heat pack")
    return HeatPack(pack.watts, pack.warm_up_h, pack.lasts_h, starts_h, vented)


def cold_pack(reference: Reference, pack: PackType, start_c: float = -18.0) -> ColdPack:
    """Return an ice, gel or phase-change pack from its catalogue row; its faces meet the air of the box."""
    if pack.melts_c is None:
        raise ValueError(f"{pack.id} is not a cold pack")
    x, y, z = pack.size_mm
    area = 2 * (x * y + y * z + x * z) * 1e-6
    film = reference.parameter("cold_pack_film_w_m2k").band.typical
    ice = reference.parameter("ice_cp_j_kgk").band.typical if pack.melts_c <= _FREEZES_NEAR_C else None
    return ColdPack(pack.mass_kg, pack.melts_c, pack.latent_j_kg, pack.cp_j_kgk, start_c, film * area, ice)


def surroundings(
    legs: Sequence[LegWish],
    zone: tzinfo,
    offset_c: float,
    after_c: float,
    delay_at_leg: str | None = None,
) -> Surroundings:
    """Return the air around the boxes, hour 0 at the start of the first leg.

    Parameters
    ----------
    legs
        In order and without gaps. Each swings daily from its low to its high, warmest at 15:00.
    zone
        Whose clock the daily swing follows.
    offset_c
        Half-width of the forecast error [°C].
    after_c
        Air around the boxes after the last leg [°C].
    delay_at_leg
        The leg that a delay lengthens; the last one when None. The boxes wait at its mean temperature.
    """
    start = legs[0].start
    hours, warm, motion, pressure = [], [], [], []
    wait_at = 0.0
    for leg in legs:
        first, last = _hours(start, leg.start), _hours(start, leg.end)
        inside = np.arange(math.floor(first) + 1, last - 1e-9)
        points = np.concatenate([[first + min(_CHANGE_H, (last - first) / 4)], inside, [last]])
        points = np.unique(points[points > first])
        air = _daily_c(leg, points, start, zone)
        hours.append(points)
        warm.append(air)
        motion.append(np.full(points.size, 1.0 if leg.motion == "carried" else 0.0))
        pressure.append(np.full(points.size, leg.pressure_atm))
        if delay_at_leg in (None, leg.name):
            wait_at = float(points[int(np.argmin(np.abs(air - air.mean())))])
    grid = np.concatenate(hours)
    values = [np.concatenate(part) for part in (warm, motion, pressure)]
    grid = np.concatenate([[0.0], grid, [grid[-1] + _CHANGE_H]])
    ends = ((values[0][0], after_c), (values[1][0], 0.0), (values[2][0], 1.0))
    full = [np.concatenate([[a], v, [b]]) for v, (a, b) in zip(values, ends, strict=True)]
    return Surroundings(grid, full[0], full[1], full[2], offset_c, wait_at)


def lateness(delay: Delay | None) -> Lateness:
    """Return the chances of being late; without a word about delay, those a shipment would default to."""
    words = delay or Delay(at_leg="")
    return Lateness(words.hours_late_chance, words.hours_late_h, words.day_late_chance)


_WALL_PARAMETERS = ("wall_h_in_w_m2k", "wall_h_out_w_m2k", "carton_m2k_w", "lid_leak_w_k")


def _with_own(limit: Limit, own: Mapping[str, Fact]) -> Limit:
    """Move a temperature limit to the taxon's own, where there is one that is not a class default."""
    code = limit.code.removesuffix("_at_once")
    fact = own.get(code)
    if fact is None or fact.is_default:
        return limit
    level = fact.band.typical
    if limit.code == code:
        return replace(limit, level=level)
    beyond = (
        min(limit.level, level - _AT_ONCE_BEYOND_K)
        if limit.below
        else max(limit.level, level + _AT_ONCE_BEYOND_K)
    )
    return replace(limit, level=beyond)


def _chord_cm(radius_cm: float, share: float) -> float:
    """Return the width of the water surface in a lying round body filled to a share of its section."""
    low, high = 0.0, math.pi
    for _ in range(60):
        half_angle = 0.5 * (low + high)
        filled = (half_angle - math.sin(half_angle) * math.cos(half_angle)) / math.pi
        low, high = (half_angle, high) if filled < share else (low, half_angle)
    return 2 * radius_cm * math.sin(0.5 * (low + high))


def _hours(start: datetime, moment: datetime) -> float:
    return (moment - start).total_seconds() / 3600


def _daily_c(leg: LegWish, hours: Array, start: datetime, zone: tzinfo) -> Array:
    local = start.astimezone(zone)
    clock = local.hour + local.minute / 60 + hours
    swing = np.cos(2 * math.pi * (clock - _WARMEST_HOUR) / 24)
    return np.asarray(0.5 * (leg.low_c + leg.high_c) + 0.5 * (leg.high_c - leg.low_c) * swing)

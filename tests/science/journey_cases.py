"""Bags, boxes and parameters that the journey tests share. Numbers of no particular origin."""

from dataclasses import fields, replace

import numpy as np

from ramet.domain.band import Band, exactly
from ramet.domain.words import Form
from ramet.reference.tables import load_reference
from ramet.science.packed import Animal, Lateness, Limit, PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import TransitParameters
from ramet.services.trials.transit_inputs import limits_for, transit_parameters

REFERENCE = load_reference()
PARAMETERS = transit_parameters(REFERENCE)
ON_TIME = Lateness(0.0, 0.0, 0.0)
ORDINARY = limits_for(REFERENCE, "Unheardof genus", Form.BRANCHING)
UNKNOWN_RATE = Band(0.4, 1.0, 2.0)
"""Respiration of the unknown class, facts of the trade collected for this project."""


def low_oxygen(level_mg_l: float, hours: float = 0.0) -> Limit:
    return Limit("oxygen_low", "oxygen_mg_l", True, level_mg_l, hours)


def a_bag(water_l: float = 0.2, gas_l: float = 0.4, area_cm2: float = 30.0, **others: object) -> PackedBag:
    """A tied 5 in bag filled round: cross-section w²/π of a flat width of 12.7 cm."""
    section = 12.7**2 / np.pi
    long_cm = (water_l + gas_l) * 1e3 / section
    known: dict[str, object] = {
        "id": "a",
        "water_l": water_l,
        "gas_l": gas_l,
        "oxygen_fraction": 0.20946,
        "film_um": 75.0,
        "layers": 1,
        "film_area_cm2": 2 * 12.7 * long_cm + 2 * section,
        "surface_cm2": section,
        "start_c": 25.0,
        "salinity": 35.0,
        "alkalinity_meq_l": 2.4,
        "ph_total": 8.05,
        "size_mm": (90, 90, 130),
        "at_mm": None,
        "animals": (an_animal(area_cm2),),
        "blank_umol_h": Band(0.3, 1.0, 4.0),
        "limits": ORDINARY,
    }
    return PackedBag(**{**known, **others})  # type: ignore[arg-type]


def an_animal(area_cm2: float, rate: Band = UNKNOWN_RATE, calcification: float = 0.05) -> Animal:
    spread = Band(0.75 * area_cm2, area_cm2, 1.3 * area_cm2)
    return Animal(spread, rate, spread, exactly(calcification))


def a_box(
    bags: list[PackedBag], inner_mm: tuple[int, int, int] = (300, 300, 300), **others: object
) -> PackedBox:
    known: dict[str, object] = {
        "id": "box",
        "inner_mm": inner_mm,
        "wall_mm": 25.0,
        "k_w_mk": exactly(0.036),
        "k_slope": 0.0,
        "h_in_w_m2k": 8.0,
        "h_out_w_m2k": 9.0,
        "carton_m2k_w": 0.06,
        "lid_leak_w_k": 0.0,
        "bags": tuple(bags),
    }
    return PackedBox(**{**known, **others})  # type: ignore[arg-type]


def steady(air_c: float, hours: float = 96.0, motion: float = 1.0, **others: float) -> Surroundings:
    two = np.ones(2)
    return Surroundings(
        hours=np.array([0.0, hours]),
        temperature_c=two * air_c,
        motion=two * motion,
        pressure_atm=two * others.get("pressure_atm", 1.0),
        offset_c=others.get("offset_c", 0.0),
        delay_at_h=others.get("delay_at_h", 0.0),
    )


def with_typical(**values: float) -> TransitParameters:
    """Our parameters with some replaced by a value without spread."""
    assert set(values) <= {field.name for field in fields(TransitParameters)}
    return replace(PARAMETERS, **{name: exactly(value) for name, value in values.items()})

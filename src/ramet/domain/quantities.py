"""Converters between the units people write and the one unit each key carries in its name.

A key such as `temperature_c` takes a bare number in its own unit, or text with a unit ("72 °F").
Factors are exact by definition (inch, pound, US gallon, °F) or follow from molar masses (dKH).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

MEQ_L_PER_DKH = 17.848 / 50.0435
"""1 dKH is 10 mg/L CaO, written here as 17.848 mg/L CaCO3; 50.0435 mg CaCO3 a milliequivalent."""


@dataclass(frozen=True, slots=True)
class Unit:
    """value_in_key_unit = scale * (value + shift)."""

    scale: float
    shift: float = 0.0


_LENGTH_MM = {"mm": Unit(1), "cm": Unit(10), "m": Unit(1000), "in": Unit(25.4), "ft": Unit(304.8)}
_MASS_KG = {"kg": Unit(1), "g": Unit(1e-3), "lb": Unit(0.45359237), "oz": Unit(0.028349523125)}
_VOLUME_L = {"l": Unit(1), "ml": Unit(1e-3), "gal": Unit(3.785411784), "m3": Unit(1000)}
_TIME_H = {"h": Unit(1), "min": Unit(1 / 60), "d": Unit(24), "s": Unit(1 / 3600)}
_ALKALINITY = {
    "meq/l": Unit(1),
    "dkh": Unit(MEQ_L_PER_DKH),
    "mg/l caco3": Unit(1 / 50.0435),
    "ppm caco3": Unit(1 / 50.0435),
}


def _in(units: Mapping[str, Unit], base: str) -> dict[str, Unit]:
    to = units[base]
    return {name: Unit(unit.scale / to.scale, unit.shift) for name, unit in units.items()}


UNITS: Mapping[str, Mapping[str, Unit]] = {
    "c": {"°c": Unit(1), "c": Unit(1), "°f": Unit(5 / 9, -32), "f": Unit(5 / 9, -32), "k": Unit(1, -273.15)},
    "mm": _LENGTH_MM,
    "cm": _in(_LENGTH_MM, "cm"),
    "kg": _MASS_KG,
    "g": _in(_MASS_KG, "g"),
    "l": _VOLUME_L,
    "ml": _in(_VOLUME_L, "ml"),
    "h": _TIME_H,
    "d": _in(_TIME_H, "d"),
    "min": _in(_TIME_H, "min"),
    "meq_l": _ALKALINITY,
    "dkh": _in(_ALKALINITY, "dkh"),
    "mg_l": {"mg/l": Unit(1), "ppm": Unit(1), "g/l": Unit(1000)},
    "cm_s": {"cm/s": Unit(1), "mm/s": Unit(0.1), "m/s": Unit(100), "in/s": Unit(2.54)},
    "cm2": {"cm2": Unit(1), "cm²": Unit(1), "in2": Unit(6.4516), "m2": Unit(1e4), "m²": Unit(1e4)},
    "cm3_kg": {"cm3/kg": Unit(1), "in3/lb": Unit(2.54**3 / 0.45359237)},
    "atm": {"atm": Unit(1), "kpa": Unit(1 / 101.325), "hpa": Unit(1 / 1013.25), "mbar": Unit(1 / 1013.25)},
    "w": {"w": Unit(1), "mw": Unit(1e-3)},
    "um": {"µm": Unit(1), "um": Unit(1), "mil": Unit(25.4), "mm": Unit(1000)},
}

_NUMBER_AND_UNIT = re.compile(r"\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))\s*([^\d\s.].*?)\s*")
_MICRO = str.maketrans({"μ": "µ"})  # the Greek letter for the micro sign


def to_unit(text: str, unit: str) -> float:
    """Return the number that `text` ("72 °F") means in the unit named by a key's suffix ("c").

    Raises ValueError with what is expected when the text has no unit, or one of another kind.

    >>> round(to_unit("72 °F", "c"), 2)
    22.22
    """
    known = UNITS[unit]
    found = _NUMBER_AND_UNIT.fullmatch(text)
    names = ", ".join(sorted({name for name in known if name.isascii()}))
    if found is None:
        raise ValueError(f"a number, or text with a unit out of: {names}")
    number, name = float(found[1]), found[2].lower().translate(_MICRO)
    if name not in known:
        raise ValueError(f"a unit out of: {names}")
    return known[name].scale * (number + known[name].shift)

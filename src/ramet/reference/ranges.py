"""The traits a table may hold: the unit of each and the range beyond which a value must be a slip."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TraitRule:
    """Unit of a trait and the widest range its values may lie in, bounds included."""

    unit: str
    low: float
    high: float


TRAITS: Mapping[str, TraitRule] = {
    "respiration_umol_cm2_h": TraitRule("umol/cm2/h", 0.01, 10),
    "q10": TraitRule("1", 1, 6),
    "calcification_meq_cm2_d": TraitRule("meq/cm2/d", 0, 0.6),
    "extension_cm_yr": TraitRule("cm/yr", 0, 25),
    "light_par": TraitRule("umol/m2/s", 5, 900),
    "flow_cm_s": TraitRule("cm/s", 0.5, 60),
    "reach_cm": TraitRule("cm", 0, 40),
    "healing_d": TraitRule("d", 2, 90),
    "minimum_piece_mm": TraitRule("mm", 5, 150),
    "minimum_heads": TraitRule("heads", 1, 20),
    "cut_share": TraitRule("1", 0, 1),
    "cold_limit_c": TraitRule("°C", 10, 24),
    "heat_limit_c": TraitRule("°C", 27, 38),
}
"""`healing_d` starts at 2: nothing is bagged within 48 h of a cut."""

_PLAIN = str.maketrans({"µ": "u", "μ": "u", "²": "2", "³": "3", "°": "", " ": ""})


def same_unit(one: str, other: str) -> bool:
    """Tell whether two unit texts mean the same, however they were typed (µ or u, °C or C).

    >>> same_unit("µmol/cm²/h", "umol/cm2/h")
    True
    """
    return one.translate(_PLAIN).lower() == other.translate(_PLAIN).lower()

"""How an addition of alkalinity moves pH before air evens it out again."""

from typing import Literal

from ramet.science.carbonate import dic_from_ph, ph_total
from ramet.science.seawater import litre_to_kg

Carrier = Literal["bicarbonate", "carbonate", "hydroxide"]
CARBON_PER_EQUIVALENT = {"bicarbonate": 1.0, "carbonate": 0.5, "hydroxide": 0.0}
"""Inorganic carbon [mol] that comes with an equivalent of alkalinity: NaHCO3, Na2CO3, Ca(OH)2."""


def ph_after_addition(
    ph: float,
    alkalinity_meq_l: float,
    added_meq_l: float,
    carrier: Carrier,
    temperature_c: float,
    salinity: float,
) -> float:
    """pH on the total scale just after alkalinity is mixed in, before any gas is exchanged with air.

    Parameters
    ----------
    ph, alkalinity_meq_l : of the tank before, pH on the total scale 6 to 9.
    added_meq_l : addition per litre of tank.
    carrier : what holds the alkalinity; limewater is hydroxide.
    """
    kg_l = float(litre_to_kg(temperature_c, salinity))
    before, added = (1000 * one / kg_l for one in (alkalinity_meq_l, added_meq_l))
    carbon = float(dic_from_ph(ph, before, temperature_c, salinity))
    carbon += added * CARBON_PER_EQUIVALENT[carrier]
    return float(ph_total(carbon, before + added, temperature_c, salinity))

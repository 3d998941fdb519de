"""How each bag is opened and its corals led into the tank's water."""

import math
from collections.abc import Sequence

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Acclimation
from ramet.reference.tables import Reference
from ramet.science.arrival import bag_time_constant_min, float_minutes
from ramet.science.seawater import density_kg_m3, heat_capacity_j_kgk
from ramet.services.receiving.arriving import ArrivingBag, ArrivingPiece

_FLOAT_STEP_MIN = 5
_GUARDS = {
    "palytoxin": "Gloves and eye cover: {} can hold a strong poison. Keep water off eyes and wounds; no hot "
    "water, no steam.",
    "stinging_skin": "Gloves and covered arms: {} stings skin.",
}
_GUARDS_OTHERWISE = "Gloves and eye cover: {} can harm people."


def acclimation(
    reference: Reference, tank: Tank, bags: Sequence[ArrivingBag], pieces: Sequence[ArrivingPiece]
) -> tuple[Acclimation, ...]:
    """Return the steps of every bag, the thinnest margin first."""
    ordered = sorted(bags, key=lambda bag: (bag.margin_h, bag.id))
    return tuple(_one(reference, tank, bag, [one for one in pieces if one.bag == bag.id]) for bag in ordered)


def floats_for_min(reference: Reference, tank: Tank, bag: ArrivingBag) -> int:
    """Minutes a sealed bag floats: Newton's law, in steps of 5; 0 for a chilled or overheated bag."""
    if _straight_in(reference, bag):
        return 0
    heat_j_lk = float(
        density_kg_m3(bag.temperature_c, tank.salinity)
        * heat_capacity_j_kgk(bag.temperature_c, tank.salinity)
    )
    tau = bag_time_constant_min(
        bag.water_l, heat_j_lk / 1000, reference.parameter("float_u_w_m2k").band.typical
    )
    exact = float_minutes(
        bag.temperature_c, tank.temperature_c, reference.parameter("float_within_c").band.typical, tau
    )
    most = reference.parameter("float_most_min").band.typical
    return math.ceil(min(exact, most) / _FLOAT_STEP_MIN) * _FLOAT_STEP_MIN


def _straight_in(reference: Reference, bag: ArrivingBag) -> bool:
    cold = reference.parameter("straight_in_below_c").band.typical
    hot = reference.parameter("straight_in_above_c").band.typical
    return not cold <= bag.temperature_c <= hot


def _one(reference: Reference, tank: Tank, bag: ArrivingBag, pieces: Sequence[ArrivingPiece]) -> Acclimation:
    minutes = floats_for_min(reference, tank, bag)
    steps = (
        *_guards(reference, pieces),
        _float_words(reference, tank, bag, minutes),
        _tub_words(tank, bag),
        "Open the bag and lift the coral into the tub at once. Never aerate bag water and never drip into "
        "it: "
        "that drives out CO2, raises pH and turns ammonium into poisonous ammonia.",
        _ramp_words(tank, bag),
        "Inspect every side with a lens and dip in the tub. Put the dip off a day or two when tissue sloughs "
        "or the bag broke a limit; never place an undipped coral in the display.",
        "Lights off or dim for the first 12 to 24 h.",
        "Disinfect bag water and dead matter; never pour them away to natural water.",
    )
    return Acclimation(bag=bag.id, float_min=minutes, steps=tuple(step for step in steps if step))


def _guards(reference: Reference, pieces: Sequence[ArrivingPiece]) -> tuple[str, ...]:
    by_toxin: dict[str, set[str]] = {}
    for one in pieces:
        genus = reference.genus(one.taxon)
        if genus is not None and genus.toxin:
            by_toxin.setdefault(genus.toxin, set()).add(genus.name)
    return tuple(
        _GUARDS.get(toxin, _GUARDS_OTHERWISE).format(", ".join(sorted(by_toxin[toxin])))
        for toxin in sorted(by_toxin)
    )


def _float_words(reference: Reference, tank: Tank, bag: ArrivingBag, minutes: int) -> str:
    apart = f"{bag.temperature_c:.1f} °C expected, tank {tank.temperature_c:.1f} °C; measure"
    if _straight_in(reference, bag):
        return f"Do not float ({apart}): a chilled or overheated coral goes straight into matched water."
    if minutes == 0:
        return f"No floating needed ({apart})."
    return f"Float the sealed bag for {minutes} min, lights dim ({apart})."


def _tub_words(tank: Tank, bag: ArrivingBag) -> str:
    salinity = "the bag's salinity" if bag.salinity is None else f"salinity {bag.salinity:.1f}"
    return f"Stand ready a tub of clean seawater at {salinity} and {tank.temperature_c:.1f} °C."


def _ramp_words(tank: Tank, bag: ArrivingBag) -> str:
    """Ramp times by salinity difference: common practice, no source."""
    if bag.salinity is None:
        return (
            "Compare salinity of bag and tank: up to 2 apart none, 2 to 4 apart 30 min, more 60 min of small "
            "additions of tank water to the tub."
        )
    apart = abs(bag.salinity - tank.salinity)
    if apart <= 2:
        return ""
    return (
        f"Bring the tub from salinity {bag.salinity:.1f} to {tank.salinity:.1f} with tank water over "
        f"{30 if apart <= 4 else 60} min."
    )

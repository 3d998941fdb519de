"""How each bag is opened and its corals led into the tank's water, and when."""

import math
from collections.abc import Sequence

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Acclimation, OpeningClock
from ramet.reference.tables import Reference
from ramet.science.arrival import bag_time_constant_min, float_minutes, opening_times_min
from ramet.science.seawater import density_kg_m3, heat_capacity_j_kgk
from ramet.services.receiving.arriving import ArrivingBag, ArrivingPiece, Visit
from ramet.services.receiving.dipping import dip_of, guards, inspection, postponed

_FLOAT_STEP_MIN = 5
_RINSE_MIN = 2
"""A rinse in clean water between dip and display."""


def acclimation(
    reference: Reference,
    tank: Tank,
    bags: Sequence[ArrivingBag],
    pieces: Sequence[ArrivingPiece],
    visit: Visit,
) -> tuple[Acclimation, ...]:
    """Return the steps of every bag with their times, in the order of opening: the thinnest margin first."""
    ordered = sorted(bags, key=lambda bag: (bag.order, bag.margin_h, bag.id))
    floats = [floats_for_min(reference, tank, bag) for bag in ordered]
    opened = opening_times_min(floats, visit.per_bag_min, -visit.early_min)
    return tuple(
        _one(reference, tank, bag, [one for one in pieces if one.bag == bag.id], minutes, at, visit)
        for bag, minutes, at in zip(ordered, floats, opened, strict=True)
    )


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


def _one(
    reference: Reference,
    tank: Tank,
    bag: ArrivingBag,
    pieces: Sequence[ArrivingPiece],
    minutes: int,
    opened_min: float,
    visit: Visit,
) -> Acclimation:
    ramp_min = _ramp_min(reference, tank, bag)
    dip = dip_of(reference, pieces)
    dip_min = 0 if dip is None else math.ceil(dip.minutes)
    matched = opened_min + visit.per_bag_min
    return Acclimation(
        bag=bag.id,
        float_min=minutes,
        steps=_steps(reference, tank, bag, pieces, minutes),
        tub_salinity=None if bag.salinity is None else round(bag.salinity, 1),
        ramp_min=ramp_min,
        inspect=inspection(reference, pieces),
        dip="" if dip is None else dip.words + (f" ({dip.never})" if dip.never else ""),
        dip_min=dip_min,
        postpone=postponed(reference, bag, pieces),
        clock=OpeningClock(
            float_from=math.floor(opened_min - minutes),
            open_at=math.floor(opened_min),
            matched_at=math.ceil(matched),
            dip_until=math.ceil(matched + ramp_min + dip_min),
            place_from=math.ceil(matched + ramp_min + dip_min + _RINSE_MIN),
        ),
    )


def _steps(
    reference: Reference, tank: Tank, bag: ArrivingBag, pieces: Sequence[ArrivingPiece], minutes: int
) -> tuple[str, ...]:
    steps = (
        *guards(reference, pieces),
        _float_words(reference, tank, bag, minutes),
        _tub_words(tank, bag),
        "Open the bag and lift the coral into the tub at once. Never aerate bag water and never drip into "
        "it: that drives out CO2, raises pH and turns ammonium into poisonous ammonia.",
        _ramp_words(reference, tank, bag),
        "Inspect every side with a lens, for what is listed for its genus, and dip in the tub. Put the "
        "dip off "
        "a day or two when tissue sloughs or the bag broke a limit; never place an undipped coral in the "
        "display.",
        "Lights off or dim for the first 12 to 24 h.",
        "Disinfect bag water and dead matter; never pour them away to natural water.",
    )
    return tuple(step for step in steps if step)


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


def _ramp_min(reference: Reference, tank: Tank, bag: ArrivingBag) -> int:
    """Ramp times by salinity difference: common practice, no source."""
    if bag.salinity is None:
        return 0
    apart = abs(bag.salinity - tank.salinity)
    if apart <= reference.parameter("ramp_none_below").band.typical:
        return 0
    long = apart > reference.parameter("ramp_long_above").band.typical
    return round(reference.parameter("ramp_long_min" if long else "ramp_short_min").band.typical)


def _ramp_words(reference: Reference, tank: Tank, bag: ArrivingBag) -> str:
    if bag.salinity is None:
        return (
            "Compare salinity of bag and tank: up to 2 apart none, 2 to 4 apart 30 min, more 60 min of small "
            "additions of tank water to the tub."
        )
    minutes = _ramp_min(reference, tank, bag)
    if minutes == 0:
        return ""
    return (
        f"Bring the tub from salinity {bag.salinity:.1f} to {tank.salinity:.1f} with tank water over "
        f"{minutes} min: a quarter of the difference each {minutes // 4} min."
    )

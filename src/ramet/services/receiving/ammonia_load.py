"""Ammonia that the tank must bear in its first days, against what its filter media can take."""

import math
from collections.abc import Iterable, Sequence
from datetime import date

from ramet.domain.band import Band, exactly
from ramet.formats.receiving import Media, Tank
from ramet.formats.shipment import Goods
from ramet.formats.tank_report import BandValue, Biofilter
from ramet.reference.tables import Reference
from ramet.science.biofilter import (
    alive_after_journey,
    ammonia_from_die_off,
    ammonia_from_food_g_d,
    chance_enough,
    maturity,
    temperature_factor,
)
from ramet.science.spread import product, total
from ramet.services.growing.piece_areas import areas
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.readiness import readiness

WANTED_CHANCE = 0.9
_MOST_BLOCKS = 99
_HALVINGS = 40


def die_off_g_d(reference: Reference, piece: ArrivingPiece) -> Band:
    """Nitrogen [g/d] that one piece is expected to set free in the first days."""
    length, width, height = piece.size_mm
    tissue = areas(reference, piece.taxon, piece.form, length, width, height, piece.heads).tissue_cm2
    return ammonia_from_die_off(
        tissue,
        reference.parameter("tissue_nitrogen_g_cm2").band,
        reference.parameter("die_off_fraction").band,
        reference.parameter("die_off_days").band.typical,
    )


def food_g_d(reference: Reference, tank: Tank) -> Band:
    """Nitrogen [g/d] from the food given to the tank."""
    per_protein = reference.parameter("ammonia_per_protein").band
    return per_protein.scaled(ammonia_from_food_g_d(tank.food_g_d, tank.food_protein_share, 1.0))


def capacity_g_d(
    reference: Reference, tank: Tank, goods: Sequence[Goods], journey_h: float | None = None
) -> Band:
    """Nitrogen [g/d] that the tank's media and those sent along can take after their journey."""
    own = [_media(reference, tank, _area_m2(reference, one), one.age_weeks) for one in tank.media]
    return total(own + [_sent(reference, tank, one, journey_h) for one in _matured(goods)])


def ammonia_ug_d(reference: Reference, piece: ArrivingPiece) -> int:
    """Nitrogen [µg/d] one piece brings, rounded up: its use of the biofilter when pieces are chosen."""
    return math.ceil(1e6 * die_off_g_d(reference, piece).typical)


def biofilter_room_ug_d(
    reference: Reference, tank: Tank, goods: Sequence[Goods], journey_h: float | None = None
) -> int:
    """Nitrogen [µg/d], as expected, that new corals may bring with a 90 % chance that the filter takes it.

    0 when food alone is too much for that.
    """
    capacity, food = capacity_g_d(reference, tank, goods, journey_h), food_g_d(reference, tank)
    one = ammonia_from_die_off(
        exactly(1.0),
        reference.parameter("tissue_nitrogen_g_cm2").band,
        reference.parameter("die_off_fraction").band,
        reference.parameter("die_off_days").band.typical,
    )
    per_expected = one.scaled(1 / one.typical)
    low, high = 0.0, max(0.0, capacity.typical - food.typical)
    if chance_enough(capacity, food + per_expected.scaled(high)) >= WANTED_CHANCE:
        return math.floor(1e6 * high)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        enough = chance_enough(capacity, food + per_expected.scaled(middle)) >= WANTED_CHANCE
        low, high = (middle, high) if enough else (low, middle)
    return math.floor(1e6 * low)


def biofilter_report(
    reference: Reference,
    tank: Tank,
    goods: Sequence[Goods],
    pieces: Iterable[ArrivingPiece],
    journey_h: float | None = None,
    leaves: date | None = None,
) -> Biofilter:
    """Judge the biofilter, count the matured media pieces it takes, and say how to test it beforehand."""
    load = food_g_d(reference, tank) + total(die_off_g_d(reference, piece) for piece in pieces)
    capacity = capacity_g_d(reference, tank, goods, journey_h)
    chance = chance_enough(capacity, load)
    needed = _blocks_needed(reference, tank, goods, load, journey_h)
    sent = len(_matured(goods))
    return Biofilter(
        ammonia_in=_shown(load, "food × protein × 0.092, and tissue expected to die"),
        capacity=_shown(capacity, "media area × rate × temperature × maturity × journey"),
        media_needed=needed,
        media_sent=sent,
        enough=chance >= WANTED_CHANCE,
        note=_note(chance, needed, sent),
        chance=round(chance, 3),
        readiness=readiness(reference, tank, leaves),
    )


def _blocks_needed(
    reference: Reference, tank: Tank, goods: Sequence[Goods], load: Band, journey_h: float | None
) -> int:
    """Return the fewest matured blocks, like those sent or else of the usual kind, for a 90 % chance."""
    own = capacity_g_d(reference, tank, ())
    matured = _matured(goods)
    block = _sent(reference, tank, matured[0] if matured else None, journey_h)
    for count in range(_MOST_BLOCKS + 1):
        if chance_enough(own + block.scaled(count), load) >= WANTED_CHANCE:
            return count
    return _MOST_BLOCKS


def _matured(goods: Sequence[Goods]) -> list[Goods]:
    return [one for one in goods if one.kind == "matured_media"]


def _sent(reference: Reference, tank: Tank, one: Goods | None, journey_h: float | None) -> Band:
    """Capacity of one block after its journey; None means one of the usual kind, fully matured."""
    usual = reference.parameter("media_block_area_m2").band
    area = usual if one is None or one.area_m2 <= 0 else exactly(one.area_m2)
    mature = reference.parameter("biofilter_mature_weeks").band.typical
    age = mature if one is None else one.age_weeks
    halving = reference.parameter("media_journey_halving_h").band
    hours = reference.parameter("usual_journey_h").band.typical if journey_h is None else journey_h
    return product(_media(reference, tank, area, age), alive_after_journey(hours, halving))


def _media(reference: Reference, tank: Tank, area_m2: Band, age_weeks: float) -> Band:
    weeks = reference.parameter("biofilter_mature_weeks").band
    theta = reference.parameter("nitrification_theta").band.typical
    grown = Band(*(maturity(age_weeks, one) for one in (weeks.high, weeks.typical, weeks.low)))
    rate = reference.parameter("nitrification_g_m2_d").band
    return product(area_m2, rate, grown).scaled(temperature_factor(tank.temperature_c, theta))


def _area_m2(reference: Reference, media: Media) -> Band:
    """Area that water really reaches: as given, or of the usual medium of its kind."""
    if media.area_m2 is not None:
        return exactly(media.area_m2)
    assert media.kind is not None
    assert media.amount is not None
    return reference.parameter(f"media_area_m2_{media.kind}").band.scaled(media.amount)


def _note(chance: float, needed: int, sent: int) -> str:
    words = f"enough with a chance of {chance:.0%}"
    if chance < WANTED_CHANCE:
        words += f" (90 % wanted): {needed} matured media pieces would do, {sent} are sent"
    return words + "; test ammonia daily for the first week; corals themselves take ammonium up"


def _shown(band: Band, origin: str) -> BandValue:
    low, typical, high = (float(f"{value:.4g}") for value in (band.low, band.typical, band.high))
    return BandValue(low=low, typical=typical, high=high, unit="g N/d", origin=origin)

"""Ammonia that the tank must bear in its first days, against what its filter media can take."""

import math
from collections.abc import Iterable, Sequence

from ramet.domain.band import Band, exactly
from ramet.formats.plan import BandValue, Biofilter
from ramet.formats.shipment import Goods, Tank
from ramet.reference.tables import Reference
from ramet.science.biofilter import (
    ammonia_from_die_off,
    ammonia_from_food_g_d,
    chance_enough,
    maturity,
    temperature_factor,
)
from ramet.science.spread import product, total
from ramet.services.piece_areas import areas
from ramet.services.receiving.arriving import ArrivingPiece

WANTED_CHANCE = 0.9
_MOST_BLOCKS = 99


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


def capacity_g_d(reference: Reference, tank: Tank, goods: Sequence[Goods]) -> Band:
    """Nitrogen [g/d] that the tank's media and those sent along can take."""
    own = [_media(reference, tank, exactly(one.area_m2), one.age_weeks) for one in tank.media]
    return total(own + [_sent(reference, tank, one) for one in _matured(goods)])


def ammonia_ug_d(reference: Reference, piece: ArrivingPiece) -> int:
    """Nitrogen [µg/d] one piece brings, rounded up: its use of the biofilter when pieces are chosen."""
    return math.ceil(1e6 * die_off_g_d(reference, piece).typical)


def biofilter_room_ug_d(reference: Reference, tank: Tank, goods: Sequence[Goods]) -> int:
    """Nitrogen [µg/d] that new corals may bring, by expected values; 0 when food alone takes it all."""
    free = capacity_g_d(reference, tank, goods).typical - food_g_d(reference, tank).typical
    return max(0, math.floor(1e6 * free))


def biofilter_report(
    reference: Reference, tank: Tank, goods: Sequence[Goods], pieces: Iterable[ArrivingPiece]
) -> Biofilter:
    """Judge the biofilter and count the matured media pieces it takes."""
    load = food_g_d(reference, tank) + total(die_off_g_d(reference, piece) for piece in pieces)
    capacity = capacity_g_d(reference, tank, goods)
    chance = chance_enough(capacity, load)
    needed = _blocks_needed(reference, tank, goods, load)
    sent = len(_matured(goods))
    return Biofilter(
        ammonia_in=_shown(load, "food × protein × 0.092, and tissue expected to die"),
        capacity=_shown(capacity, "media area × rate × temperature × maturity × journey"),
        media_needed=needed,
        media_sent=sent,
        enough=chance >= WANTED_CHANCE,
        note=_note(chance, needed, sent),
    )


def _blocks_needed(reference: Reference, tank: Tank, goods: Sequence[Goods], load: Band) -> int:
    """Return the fewest matured blocks, like those sent or else of the usual kind, for a 90 % chance."""
    own = capacity_g_d(reference, tank, ())
    matured = _matured(goods)
    block = _sent(reference, tank, matured[0] if matured else None)
    for count in range(_MOST_BLOCKS + 1):
        if chance_enough(own + block.scaled(count), load) >= WANTED_CHANCE:
            return count
    return _MOST_BLOCKS


def _matured(goods: Sequence[Goods]) -> list[Goods]:
    return [one for one in goods if one.kind == "matured_media"]


def _sent(reference: Reference, tank: Tank, one: Goods | None) -> Band:
    """Capacity of one block after its journey; None means one of the usual kind, fully matured."""
    usual = reference.parameter("media_block_area_m2").band
    area = usual if one is None or one.area_m2 <= 0 else exactly(one.area_m2)
    mature = reference.parameter("biofilter_mature_weeks").band.typical
    age = mature if one is None else one.age_weeks
    journey = reference.parameter("media_journey_survival").band
    return product(_media(reference, tank, area, age), journey)


def _media(reference: Reference, tank: Tank, area_m2: Band, age_weeks: float) -> Band:
    weeks = reference.parameter("biofilter_mature_weeks").band
    theta = reference.parameter("nitrification_theta").band.typical
    grown = Band(*(maturity(age_weeks, one) for one in (weeks.high, weeks.typical, weeks.low)))
    rate = reference.parameter("nitrification_g_m2_d").band
    return product(area_m2, rate, grown).scaled(temperature_factor(tank.temperature_c, theta))


def _note(chance: float, needed: int, sent: int) -> str:
    words = f"enough with a chance of {chance:.0%}"
    if chance < WANTED_CHANCE:
        words += f" (90 % wanted): {needed} matured media pieces would do, {sent} are sent"
    return words + "; test ammonia daily for the first week; corals themselves take ammonium up"


def _shown(band: Band, origin: str) -> BandValue:
    low, typical, high = (float(f"{value:.4g}") for value in (band.low, band.typical, band.high))
    return BandValue(low=low, typical=typical, high=high, unit="g N/d", origin=origin)

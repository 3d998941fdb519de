"""What is in a bag: water and gas within its volume, pieces and contents within its size."""

import math
from collections.abc import Iterator

from ramet.check.finding import Fault
from ramet.domain.words import Stance
from ramet.formats.plan import Bag, Plan
from ramet.reference.tables import Reference

ROUNDING_L = 0.002
"""Volumes in a plan are rounded to whole millilitres, twice."""
ROUNDING_MM = 1.0
L_PER_MM3 = 1e-6
CABIN_ATM = 0.95
"""Below this the gas in a bag swells as it does in flight (planning value)."""


def fill_leaves_room_for_the_gas_to_swell(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Water and gas take no more than the allowed share of the closed volume; less when a leg is flown.

    A leg at a pressure like that of a cabin counts as flown.
    """
    flown = any(leg.surroundings == "aircraft" for leg in plan.forecast.legs)
    if plan.journey is not None:
        flown |= any(leg.pressure_atm < CABIN_ATM for leg in plan.journey.legs)
    share = reference.parameter("gas_fill_share" if flown else "ground_fill_share").band.high
    for bag in plan.bags:
        filled = bag.water_l + bag.gas_l
        if filled > share * bag.closed_l + ROUNDING_L:
            yield Fault(
                bag.id, f"{filled:.3f} L in {bag.closed_l:.3f} L closed, at most {share:.0%} are allowed"
            )


def contents_fit_the_bag(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A bag's outer size has room for its water and its gas."""
    for bag in plan.bags:
        room = bag.size_mm[0] * bag.size_mm[1] * bag.size_mm[2] * L_PER_MM3
        if bag.water_l + bag.gas_l > room + ROUNDING_L:
            yield Fault(bag.id, f"{bag.water_l + bag.gas_l:.3f} L in a body of {room:.3f} L")


def bags_are_as_large_as_filled(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A tied bag is round: as thick as its film makes it, as long as its filling; a cup keeps its own size.

    Film of flat width w ties to a body of diameter 2w/π (geometry); it stands upright or lies on its side.
    """
    for bag in plan.bags:
        known = reference.bags.get(bag.type)
        if known is None:
            continue
        across = 2 * known.flat_width_mm / math.pi
        filled_mm3 = (bag.water_l + bag.gas_l) / L_PER_MM3 / known.compartments
        long = known.length_mm if known.rigid else filled_mm3 / (math.pi * across**2 / 4)
        row = across * known.compartments
        stands = bag.stance == Stance.STANDS
        ground, height = ((across, row), long) if stands else ((row, long), across)
        least = (*sorted(ground), height)
        sides = (*sorted(bag.size_mm[:2]), bag.size_mm[2])
        if any(side < needed - ROUNDING_MM for side, needed in zip(sides, least, strict=True)):
            needs = " × ".join(f"{side:.0f}" for side in least)
            yield Fault(
                bag.id, f"measures {' × '.join(map(str, sides))} mm; filled as told it takes {needs} mm"
            )


def pieces_fit_their_bag(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every piece is smaller than its bag, side by side from the shortest to the longest."""
    chosen = {one.piece: one for one in plan.chosen}
    for bag in plan.bags:
        for piece in bag.pieces:
            if piece not in chosen:
                continue
            for side, room in zip(sorted(chosen[piece].size_mm), sorted(bag.size_mm), strict=True):
                if side > room + ROUNDING_MM:
                    yield Fault(bag.id, f"{piece} is {side:.0f} mm where the bag has {room} mm")
                    break


def corals_have_water_and_gas(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A bag with corals holds water, and gas above it: nearly all its oxygen is in the gas."""
    for bag in plan.bags:
        if bag.pieces and bag.water_l <= 0:
            yield Fault(bag.id, "corals without water")
        if bag.pieces and bag.gas_l <= 0:
            yield Fault(bag.id, "corals without gas")


def bags_are_as_bought(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A bag of a known type has its film and volume, enough layers, and lies only if that type may lie."""
    for bag in plan.bags:
        known = reference.bags.get(bag.type)
        if known is None:
            yield Fault(bag.id, f"is of type {bag.type}, which no table has")
            continue
        if bag.layers < known.layers:
            yield Fault(bag.id, f"has {bag.layers} layers, its type comes with {known.layers}")
        if bag.closed_l > known.closed_l + ROUNDING_L:
            yield Fault(bag.id, f"holds {bag.closed_l:g} L closed, its type {known.closed_l:g} L")
        if bag.stance == Stance.LIES and not known.may_lie:
            yield Fault(bag.id, f"lies, but {bag.type} must stand")
        yield from _film(bag, known.film_um)


def _film(bag: Bag, film_um: float) -> Iterator[Fault]:
    if bag.film_um > film_um * max(bag.layers, 1) + 0.5 or bag.film_um < film_um - 0.5:
        yield Fault(bag.id, f"has a film of {bag.film_um:g} µm, its type one of {film_um:g} µm")

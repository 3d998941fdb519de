"""Masses add up, limits hold, and billed mass follows the carrier's arithmetic."""

import math
from collections.abc import Iterator

from ramet.check.finding import Fault
from ramet.domain.words import BagClass
from ramet.formats.plan import Bag, Box, Plan
from ramet.reference.tables import Reference

WATER_KG_L = 1.024
"""Density of seawater at 25 °C and salinity 35 is 1.0236 kg/L; the plan rounds masses up."""
ROUNDING_KG = 0.02


def bag_mass_is_what_is_in_it(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A bag weighs at least its water and film, and at most that and a dense block for each piece."""
    for bag in plan.bags:
        least = bag.water_l * WATER_KG_L + _film_kg(bag, reference) - ROUNDING_KG
        most = (
            least
            + 2 * ROUNDING_KG
            + _pieces_kg_most(plan, bag, reference)
            + (reference.parameter("goods_kg").band.high if bag.goods else 0.0)
        )
        if not least <= bag.mass_kg <= most:
            yield Fault(bag.id, f"weighs {bag.mass_kg:.3f} kg, its parts {least:.3f} to {most:.3f} kg")


def box_mass_is_the_sum_of_its_parts(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A box weighs as much as its bags, packs, boards, fill and empty box together."""
    for box in plan.boxes:
        low, high = _box_kg(plan, box, reference)
        if not low - ROUNDING_KG <= box.mass_kg <= high + ROUNDING_KG:
            yield Fault(box.id, f"weighs {box.mass_kg:.3f} kg, its parts {low:.3f} to {high:.3f} kg")


def boxes_have_a_liner(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """The empty box is told with its liner: as heavy as its type is bought, and a leak-tight liner more."""
    liner = reference.parameter("liner_kg").band
    for box in plan.boxes:
        known = reference.boxes.get(box.type)
        low = liner.low + (0.0 if known is None else known.tare_kg)
        high = box.max_kg if known is None else known.tare_kg + liner.high
        if box.tare_kg is None:
            yield Fault(box.id, "what it weighs empty, with its liner, is not told")
        elif not low - ROUNDING_KG <= box.tare_kg <= high + ROUNDING_KG:
            yield Fault(box.id, f"weighs {box.tare_kg:.3f} kg empty, with a liner {low:.3f} to {high:.3f} kg")


def absorbent_takes_the_water(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """The absorbent in a box takes the water of all its bags."""
    share = reference.parameter("absorbent_per_water").band.typical
    g_per_l = reference.parameter("absorbent_g_per_l").band.low
    for box in plan.boxes:
        water_l = sum(bag.water_l for bag in plan.bags if bag.box == box.id)
        least = water_l * share * g_per_l
        if box.absorbent_g < least - 1:
            yield Fault(
                box.id, f"{box.absorbent_g} g of absorbent for {water_l:.2f} L, {least:.0f} g at least"
            )


def boxes_are_not_too_heavy(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No box weighs more than it may."""
    for box in plan.boxes:
        if box.mass_kg > box.max_kg:
            yield Fault(box.id, f"weighs {box.mass_kg:.2f} kg, at most {box.max_kg:.2f} kg are allowed")


def billed_mass_follows_the_terms(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Billed is the larger of mass and outer volume over the divisor, rounded up to the carrier's step."""
    for box in plan.boxes:
        if plan.shipment.terms is None:
            if box.billed_kg < box.mass_kg - 1e-6:
                yield Fault(box.id, f"bills {box.billed_kg:g} kg, less than its {box.mass_kg:g} kg")
            continue
        sides_cm = [_side_cm(side / 10, plan.shipment.terms.side_rounding) for side in box.outer_mm]
        volume_kg = math.prod(sides_cm) / plan.shipment.terms.divisor_cm3_kg
        step = plan.shipment.terms.mass_step_kg
        expected = math.ceil(max(box.mass_kg, volume_kg) / step - 1e-6) * step
        if abs(box.billed_kg - expected) > 1e-3:
            yield Fault(box.id, f"bills {box.billed_kg:g} kg, the carrier's terms give {expected:g} kg")


def _film_kg(bag: Bag, reference: Reference) -> float:
    known = reference.bags.get(bag.type)
    return 0.0 if known is None else known.tare_kg * (1 if known.rigid else bag.layers)


def _pieces_kg_most(plan: Plan, bag: Bag, reference: Reference) -> float:
    """No coral fills the block around it with more than solid skeleton, or flesh; each has a plug."""
    blocks = [one.size_mm for one in plan.chosen if one.piece in bag.pieces]
    kind = "soft" if bag.bag_class == BagClass.SOFT else "stony"
    density = reference.parameter(f"piece_density_{kind}_g_cm3").band.high
    plug = reference.parameter("plug_kg").band.high
    return sum(x * y * z * 1e-6 * density + plug for x, y, z in blocks)


def _box_kg(plan: Plan, box: Box, reference: Reference) -> tuple[float, float]:
    known = [reference.packs.get(pack.kind) for pack in box.packs]
    parts = sum(bag.mass_kg for bag in plan.bags if bag.box == box.id)
    parts += sum(pack.mass_kg for pack in known if pack is not None) + box.absorbent_g / 1000
    tare = (0.0, box.max_kg) if box.tare_kg is None else (box.tare_kg, box.tare_kg)
    board = reference.parameter("board_kg_m2").band
    boards_m2 = sum(pad.size_mm[0] * pad.size_mm[1] * 1e-6 for pad in box.pads if pad.kind == "board")
    fill = sum(
        math.prod(pad.size_mm) * 1e-6 * _fill_kg_l(pad.kind, reference)
        for pad in box.pads
        if pad.kind != "board"
    )
    extras = reference.parameter("box_extras_kg").band.high
    least = parts + tare[0] + boards_m2 * board.low
    return least, parts + tare[1] + boards_m2 * board.high + fill + extras


def _fill_kg_l(kind: str, reference: Reference) -> float:
    """Blocks under boards may be of dense foam; gaps take crumpled paper."""
    band = reference.parameter("fill_kg_l").band
    return band.typical if kind == "void" else band.high


def _side_cm(side: float, rounding: str) -> float:
    if rounding == "none":
        return side
    unit = 2.54 if rounding.endswith("_in") else 1.0
    if rounding.startswith("up_"):
        return math.ceil(side / unit - 1e-9) * unit
    return math.floor(side / unit + 0.5 + 1e-9) * unit

"""Cautions that own up to what the choice could not do: rules of packing that nothing stays behind for."""

from collections.abc import Iterator, Sequence

from ramet.domain.words import PackingRule, Rank, Tolerance
from ramet.formats.plan import Caution
from ramet.optimise.walls import NEAR_MM
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load
from ramet.services.planning.strain_left import strain_left


def choice_cautions(inputs: Inputs, loads: Sequence[Load], boxes: Sequence[ReadyBox]) -> tuple[Caution, ...]:
    """Return a caution for each rule of packing that is on and could not wholly be kept."""
    return (
        *_all_in_one_box(inputs, loads),
        *_off_centre(inputs, loads, boxes),
        *_at_walls(inputs, loads, boxes),
        *_last_pieces(inputs, loads),
    )


def _all_in_one_box(inputs: Inputs, loads: Sequence[Load]) -> Iterator[Caution]:
    """Own up to risk that could not be spread: all musts, or all of a strain, in one box of several."""
    groups: dict[str, list[str]] = {}
    for load in loads:
        for one in load.parcel.candidates:
            if PackingRule.SPREAD_STRAINS in inputs.rules:
                groups.setdefault(one.strain, []).append(load.box)
            if PackingRule.SPREAD_MUSTS in inputs.rules and load.parcel.rank(inputs) is Rank.MUST:
                groups.setdefault("musts", []).append(load.box)
    several = len({load.box for load in loads}) > 1
    for name, boxes in sorted(groups.items()):
        if several and len(boxes) > 1 and len(set(boxes)) == 1:
            yield Caution(
                code="all_in_one_box",
                text=f"All {len(boxes)} pieces of “{name}” ride in box {boxes[0]}: no other box holds them "
                "long enough or has the room. If that box is lost, all are.",
                source="the choice of this plan",
            )


def _off_centre(inputs: Inputs, loads: Sequence[Load], boxes: Sequence[ReadyBox]) -> Iterator[Caution]:
    """Tell which box is heavier on one side than hands carry level."""
    if PackingRule.MASS_CENTRED not in inputs.rules:
        return
    share = inputs.reference.parameter("mass_off_centre").band.high
    for box in boxes:
        inside = [load for load in loads if load.box == box.id]
        total_g = sum(load.way.mass_g for load in inside)
        for axis, side in enumerate(box.inner_mm[:2]) if total_g else ():
            turned = sum(load.way.mass_g * (load.at_mm[axis] + load.size_mm[axis] / 2) for load in inside)
            if abs(turned / total_g - side / 2) > share * side:
                yield Caution(
                    code="mass_off_centre",
                    text=f"Box {box.id} is heavier on one side: lift it with both hands below the heavy end.",
                    source="the choice of this plan",
                )
                break


def _at_walls(inputs: Inputs, loads: Sequence[Load], boxes: Sequence[ReadyBox]) -> Iterator[Caution]:
    """Tell which bags with sensitive corals stand at a wall though hardier ones of their footprint do not."""
    if PackingRule.SENSITIVE_OFF_WALLS not in inputs.rules:
        return
    sides = {box.id: box.inner_mm for box in boxes}
    outer = {
        load.id
        for load in loads
        for at, size, side in zip(load.at_mm[:2], load.size_mm[:2], sides[load.box][:2], strict=True)
        if min(at, side - at - size) < NEAR_MM
    }
    kept = [load.id for load in loads if load.id not in outer and not _is_sensitive(inputs, load)]
    told = [
        load.id
        for load in loads
        if load.id in outer
        and _is_sensitive(inputs, load)
        and any(_are_alike(load, other) for other in loads if other.id in kept)
    ]
    if told:
        yield Caution(
            code="sensitive_at_wall",
            text=f"Sensitive corals stand at a wall of their box, in {', '.join(told)}: hardier ones further "
            "in could not give them their places. Keep cold, sun and heat off the outside of these boxes.",
            source="the choice of this plan",
        )


def _last_pieces(inputs: Inputs, loads: Sequence[Load]) -> Iterator[Caution]:
    """Tell which strains leave nothing behind though no line gives their last away: others died since.

    A plan is made so that one stays; only when it is changed at the bench can the stock be another by then.
    """
    if PackingRule.KEEP_LAST_PIECE not in inputs.rules:
        return
    left = strain_left(inputs, loads)
    going = [one for load in loads for one in load.parcel.candidates]
    given = {one.strain.casefold() for one in going if inputs.shipment.request[one.request].last_of_strain}
    for strain in sorted({one.strain for one in going if one.strain.casefold() not in given}):
        if left.get(strain.casefold(), 0) == 0:
            pieces = ", ".join(one.piece for one in going if one.strain == strain)
            yield Caution(
                code="last_of_strain",
                text=f"Nothing of “{strain}” is left in stock by now: with {pieces} the last of it goes. "
                "Withdraw one to keep the strain.",
                source="the stock at this change",
            )


def _is_sensitive(inputs: Inputs, load: Load) -> bool:
    coral = load.parcel.candidate
    genus = None if coral is None else inputs.reference.genus(coral.taxon)
    return genus is not None and genus.tolerance is Tolerance.SENSITIVE


def _are_alike(one: Load, other: Load) -> bool:
    """Tell whether two bags stand on one level of one box and on grounds of one size."""
    here, there = (one.box, one.at_mm[2]), (other.box, other.at_mm[2])
    return here == there and sorted(one.size_mm[:2]) == sorted(other.size_mm[:2])

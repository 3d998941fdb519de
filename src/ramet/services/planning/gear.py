"""Bags at hand: a choice that takes more of a size than there are gives some of them up."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from ramet.services.planning.bag_options import Parcel
from ramet.services.planning.candidates import Refusal
from ramet.services.planning.coefficients import RANKS
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load


def short_of_bags(
    inputs: Inputs, parcels: Sequence[Parcel], loads: Sequence[Load]
) -> tuple[tuple[Parcel, ...], list[Refusal]] | None:
    """Return the parcels without the ways for which no bag is left, and those that then have none.

    None when there are bags enough. Bags go first to the higher rank, then to those with the fewest other
    ways, then to those with the least margin to lose.
    """
    taken = Counter(load.way.type.id for load in loads for _ in range(load.way.layers))
    lacking = {
        type_id: taken[type_id] - at_hand
        for type_id, at_hand in inputs.shipment.gear.bags.items()
        if taken[type_id] > at_hand
    }
    if not lacking:
        return None
    by_id = {parcel.id: parcel for parcel in parcels}
    refusals: list[Refusal] = []
    for load in sorted(loads, key=lambda one: _gives_up_first(inputs, one)):
        type_id = load.way.type.id
        if lacking.get(type_id, 0) > 0:
            lacking[type_id] -= load.way.layers
            left = tuple(way for way in load.parcel.ways if way.way.type.id != type_id)
            by_id[load.parcel.id] = replace(load.parcel, ways=left)
            if not left:
                refusals.append(_no_bag_left(load))
    return tuple(by_id[parcel.id] for parcel in parcels if by_id[parcel.id].ways), refusals


def _gives_up_first(inputs: Inputs, load: Load) -> tuple[int, int, float, str]:
    others = sum(way.way.type.id != load.way.type.id for way in load.parcel.ways)
    return (-RANKS[load.parcel.rank(inputs)], -others, -load.judged.margin_h, load.id)


def _no_bag_left(load: Load) -> Refusal:
    return Refusal(
        load.parcel.line,
        load.parcel.name,
        "no_bag_left",
        f"no bag is left for {load.parcel.name}: all of “{load.way.type.words}” at hand are taken",
        f"one more “{load.way.type.words}” is at hand",
    )

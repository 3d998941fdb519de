"""The joint choice again while the tank has no place for a piece of it: that piece stays behind."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from ramet.domain.words import Effort
from ramet.services.planning.bag_options import Parcel
from ramet.services.planning.candidates import Refusal
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load
from ramet.services.planning.tank_room import has_places
from ramet.services.planning.tighten import Packed
from ramet.services.receiving.placing import PlacedPiece, Placing, place

PLACING_S = {Effort.QUICK: 0.25, Effort.NORMAL: 3.0, Effort.THOROUGH: 10.0}
_MOST_ROUNDS = 3


def choose_what_stands(
    inputs: Inputs,
    parcels: Sequence[Parcel],
    choose: Callable[[Sequence[Parcel]], Packed],
    again: Callable[[str], None],
) -> tuple[Packed, Placing]:
    """Choose, place, leave behind what finds no place, and choose again; the last round stands as it is.

    Only where the file tells the places: on a grid of our own a piece without one is a caution.
    """
    current = tuple(parcels)
    refusals: list[Refusal] = []
    for left in range(_MOST_ROUNDS - 1, -1, -1):
        packed = choose(current)
        placing = place_loads(inputs, packed.loads, PLACING_S[inputs.effort])
        homeless = dict(placing.unplaced)
        if not homeless or not has_places(inputs.shipment.tank) or not left:
            break
        refusals += [
            _refusal(load.parcel.line, one.piece, homeless[one.piece])
            for load in packed.loads
            for one in load.parcel.candidates
            if one.piece in homeless
        ]
        current = tuple(
            parcel for parcel in current if not any(one.piece in homeless for one in parcel.candidates)
        )
        again(f"choosing again: the tank has no place for {', '.join(sorted(homeless))}")
    return replace(packed, refusals=(*packed.refusals, *refusals)), placing


def place_loads(
    inputs: Inputs,
    loads: Sequence[Load],
    budget_s: float,
    kept: Mapping[str, tuple[int, int]] | None = None,
) -> Placing:
    """Return where the corals of a choice stand; those that are `kept` stay where they are."""
    corals = [one for load in loads for one in load.parcel.candidates]
    return place(
        inputs.reference,
        inputs.shipment.tank,
        [
            PlacedPiece(
                one.piece,
                one.strain,
                one.taxon,
                one.form,
                one.size_mm,
                inputs.shipment.request[one.request].rank,
            )
            for one in corals
        ],
        budget_s,
        inputs.seed,
        kept,
    )


def _refusal(line: int, piece: str, reason: str) -> Refusal:
    return Refusal(
        line,
        piece,
        "no_place",
        f"{piece} finds no place in the tank beside what goes: {reason}",
        "more spots in its light, or fewer neighbours with long reach",
    )

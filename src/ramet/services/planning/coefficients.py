"""Biology becomes integers here and nowhere else: parcels and boxes as a problem for the solver."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from ramet.domain.words import PackingRule, Rank, Tolerance
from ramet.optimise.problem import Bin, Body, Choice, Item, Line, Problem, Rule
from ramet.services.planning.absorbent import absorbent_g
from ramet.services.planning.bag_options import Judged, Parcel
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.candidates import Candidate, Candidates
from ramet.services.planning.gather import Inputs
from ramet.services.planning.rules import fragile_on_top
from ramet.services.planning.tank_room import TankRoom

RANKS: Mapping[Rank, int] = {Rank.MUST: 0, Rank.WANT: 1, Rank.FILLER: 2}
_MARGIN_CAP_MIN = 48 * 60


def to_problem(
    inputs: Inputs,
    found: Candidates,
    parcels: Sequence[Parcel],
    boxes: Sequence[ReadyBox],
    room: TankRoom,
) -> Problem:
    """Return the joint choice in whole mm, g, minutes and microequivalents."""
    lines = tuple(
        Line(request.id, RANKS[request.rank], request.count, request.value)
        for request in inputs.shipment.request
    ) + tuple(Line(goods.name, RANKS[goods.rank], 1, 10) for goods in inputs.shipment.goods)
    return Problem(
        lines=lines,
        items=tuple(_item(parcel, inputs, found, room) for parcel in parcels),
        bins=tuple(_bin(box, inputs) for box in boxes),
        capacities=_capacities(found, room),
        rules=frozenset(rule for rule in Rule if getattr(inputs.shipment.rules, rule.value, True)),
    )


def _item(parcel: Parcel, inputs: Inputs, found: Candidates, room: TankRoom) -> Item:
    one = parcel.candidate
    genus = None if one is None else inputs.reference.genus(one.taxon)
    return Item(
        id=parcel.id,
        pieces=tuple(one.piece for one in parcel.candidates),
        line=parcel.line,
        strain="" if one is None else one.strain,
        soft=one is not None and one.bag_class == "soft",
        sensitive=genus is not None and genus.tolerance is Tolerance.SENSITIVE,
        choices=tuple(_choice(way, parcel, inputs) for way in parcel.ways),
        uses=_sum(_uses(one, inputs, found, room) for one in parcel.candidates),
    )


def _sum(parts: Iterable[Mapping[str, int]]) -> dict[str, int]:
    total: Counter[str] = Counter()
    for part in parts:
        total.update(part)
    return dict(total)


def _choice(judged: Judged, parcel: Parcel, inputs: Inputs) -> Choice:
    """Return a way in integers; the absorbent for its water travels beside it and weighs with it."""
    bag, coral = judged.way.type, parcel.candidate
    fragile = (
        PackingRule.FRAGILE_ON_TOP in inputs.rules and coral is not None and fragile_on_top(coral.form, bag)
    )
    carries = 0 if fragile else int(bag.carries_kg * 1000)
    return Choice(
        size_mm=judged.way.size_mm,
        mass_g=judged.way.mass_g + absorbent_g(judged.way.water_l, inputs.reference),
        margin_min=min(_MARGIN_CAP_MIN, math.floor(judged.margin_h * 60)),
        carries_g=carries,
        boxes=judged.boxes,
        stack_most=judged.way.type.stack_most,
    )


def _uses(one: Candidate, inputs: Inputs, found: Candidates, room: TankRoom) -> dict[str, int]:
    """Return what a coral takes of all that is scarce.

    A mother that leaves takes all her cuts with her. A line that gives even the last of a strain away takes
    nothing from what the others leave.
    """
    taken = room.uses(one)
    if one.mother is not None:
        return {**taken, f"cuts of {one.mother}": 1}
    if not inputs.shipment.request[one.request].last_of_strain:
        taken[f"pieces of {one.strain} beyond the last"] = 1
    if one.piece in found.spare_children:
        taken[f"cuts of {one.piece}"] = found.spare_children[one.piece]
    return taken


def _capacities(found: Candidates, room: TankRoom) -> dict[str, int]:
    return {
        **{f"pieces of {strain} beyond the last": spare for strain, spare in found.spare_pieces.items()},
        **{f"cuts of {mother}": most for mother, most in found.spare_children.items()},
        **room.capacities,
    }


def _bin(box: ReadyBox, inputs: Inputs) -> Bin:
    step_g = max(1, round(inputs.shipment.carrier.mass_step_kg * 1000))
    return Bin(
        id=box.id,
        size_mm=box.inner_mm,
        max_contents_g=math.floor((box.max_kg - box.empty_kg) * 1000),
        tare_g=math.ceil(box.empty_kg * 1000),
        billed_floor_g=math.ceil(box.dimensional_kg * 1000),
        billed_step_g=step_g,
        blocked=tuple(Body(pack.keep_at_mm, pack.keep_size_mm) for pack in box.packs),
    )

"""For each candidate a short list of ways to bag it, each judged by the journey model.

Margins rest on the temperature that a bag is expected to have in a box whose layout is not known yet, and
on the longest time any bag can need; both are judged again once the true places are known.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ramet.domain.words import BagClass, Gas
from ramet.formats.shipment import Goods
from ramet.science.journey import forecast_at
from ramet.science.packed import PackedBag
from ramet.services.planning.bagging import Way, ways
from ramet.services.planning.candidates import Candidate, Refusal
from ramet.services.planning.expected_heat import ExpectedHeat
from ramet.services.planning.gather import Inputs
from ramet.services.planning.packed_bags import Living, living_coral, living_goods, packed_bag

_BAG_TYPES: tuple[Mapping[Gas, int], ...] = ({Gas.AIR: 3, Gas.OXYGEN: 1}, {Gas.AIR: 8, Gas.OXYGEN: 6})
"""How many sizes of bag are tried, from the smallest: few, and more when none holds with ease."""
_MOST_WAYS = 5


@dataclass(frozen=True, slots=True)
class Judged:
    """A way to bag something with its expected margin; `boxes` are the boxes in which it holds."""

    way: Way
    margin_h: float
    boxes: frozenset[int]


@dataclass(frozen=True, slots=True)
class Parcel:
    """What goes as one bag: a candidate or goods, for a line of the problem, with its ways."""

    id: str
    line: int
    candidate: Candidate | None
    goods: Goods | None
    living: Living
    ways: tuple[Judged, ...]

    @property
    def bag_class(self) -> BagClass:
        """What the bag counts as."""
        return BagClass.GOODS if self.candidate is None else self.candidate.bag_class


@dataclass(frozen=True, slots=True)
class BagOptions:
    """The parcels that some bag can carry, and why the others cannot go."""

    parcels: tuple[Parcel, ...]
    refusals: tuple[Refusal, ...]


def find_bag_options(
    inputs: Inputs, candidates: Sequence[Candidate], heat: Sequence[ExpectedHeat]
) -> BagOptions:
    """Judge every way to bag every candidate and the goods; keep those that hold, a few for each."""
    open_parcels = [*_coral_parcels(inputs, candidates), *_goods_parcels(inputs)]
    kept: dict[str, Parcel] = {}
    best: dict[str, Judged | None] = {parcel.id: None for parcel in open_parcels}
    order = list(best)
    everything = {parcel.id: parcel for parcel in open_parcels}
    easy_h = inputs.reference.parameter("margin_easy_h").band.typical
    for bag_types in _BAG_TYPES:
        for parcel, judged in _judged(inputs, open_parcels, heat, bag_types):
            best[parcel.id] = max(judged, key=lambda one: one.margin_h, default=None)
            holding = [one for one in judged if one.boxes]
            if holding:
                kept[parcel.id] = replace(parcel, ways=_short_list(holding))
        open_parcels = [parcel for parcel in open_parcels if not _is_easy(kept.get(parcel.id), easy_h)]
    return BagOptions(
        parcels=tuple(kept[id_] for id_ in order if id_ in kept),
        refusals=tuple(_refusal(everything[id_], best[id_]) for id_ in order if id_ not in kept),
    )


def _is_easy(parcel: Parcel | None, easy_h: float) -> bool:
    return parcel is not None and max(one.margin_h for one in parcel.ways) >= easy_h


def _judged(
    inputs: Inputs,
    parcels: Sequence[Parcel],
    heat: Sequence[ExpectedHeat],
    bag_types: Mapping[Gas, int],
) -> Iterator[tuple[Parcel, list[Judged]]]:
    possible = {parcel.id: _ways(parcel, inputs, bag_types) for parcel in parcels}
    margins = _margins(inputs, parcels, possible, heat)
    for parcel in parcels:
        yield (
            parcel,
            [
                Judged(way, max(by_box), frozenset(box for box, margin in enumerate(by_box) if margin >= 0))
                for way, by_box in zip(possible[parcel.id], margins[parcel.id], strict=True)
            ],
        )


def _coral_parcels(inputs: Inputs, candidates: Iterable[Candidate]) -> list[Parcel]:
    return [Parcel(one.id, one.request, one, None, living_coral(one, inputs), ()) for one in candidates]


def _goods_parcels(inputs: Inputs) -> list[Parcel]:
    first = len(inputs.shipment.request)
    return [
        Parcel(f"goods:{goods.name}", first + number, None, goods, living_goods(goods, inputs), ())
        for number, goods in enumerate(inputs.shipment.goods)
    ]


def _ways(parcel: Parcel, inputs: Inputs, bag_types: Mapping[Gas, int]) -> tuple[Way, ...]:
    gases = [Gas.AIR, Gas.OXYGEN] if inputs.shipment.gear.oxygen and parcel.goods is None else [Gas.AIR]
    return tuple(
        way
        for gas in gases
        for way in ways(parcel.living.content, inputs.reference, inputs.fill_share, gas, bag_types[gas])
        if inputs.shipment.gear.bags.get(way.type.id, 1) > 0
    )


def _margins(
    inputs: Inputs,
    parcels: Sequence[Parcel],
    possible: Mapping[str, Sequence[Way]],
    heat: Sequence[ExpectedHeat],
) -> dict[str, list[list[float]]]:
    """Return for each parcel and way the margin [h] in every box; boxes that are alike are judged once."""
    most_bags = sum(request.count for request in inputs.shipment.request) + len(inputs.shipment.goods)
    needed_h = inputs.clock.needed_h(most_bags, 1, most_bags)
    sealed_h = inputs.clock.sealed_before_h(most_bags, 1)
    if not any(possible.values()):
        return {parcel.id: [] for parcel in parcels}
    bags = [
        packed_bag(parcel.id, way, parcel.living, inputs, sealed_h)
        for parcel in parcels
        for way in possible[parcel.id]
    ]
    alike: dict[int, NDArray[np.float64]] = {}
    for one in heat:
        if one.kind not in alike:
            alike[one.kind] = _holds_p05(bags, one)
    by_box = np.stack([alike[one.kind] for one in heat], axis=1) - needed_h
    rows = iter(by_box.tolist())
    return {parcel.id: [next(rows) for _ in possible[parcel.id]] for parcel in parcels}


def _holds_p05(bags: Sequence[PackedBag], heat: ExpectedHeat) -> NDArray[np.float64]:
    holds = forecast_at(
        bags,
        heat.hours,
        heat.bag_c,
        heat.parameters,
        heat.scenarios,
        motion=np.interp(heat.hours, heat.around.hours, heat.around.motion),
        pressure_atm=np.interp(heat.hours, heat.around.hours, heat.around.pressure_atm),
    )
    return np.asarray(np.percentile(holds, 5, axis=1, method="inverted_cdf"))


def _short_list(judged: Sequence[Judged]) -> tuple[Judged, ...]:
    """Keep ways that no other beats in room, mass and margin at once; the smallest first, oxygen last."""
    best = sorted(
        judged, key=lambda one: (one.way.gas is Gas.OXYGEN, _room(one), one.way.mass_g, -one.margin_h)
    )
    kept: list[Judged] = []
    for one in best:
        if not any(_beats(other, one) for other in kept):
            kept.append(one)
    return tuple(kept[:_MOST_WAYS])


def _beats(one: Judged, other: Judged) -> bool:
    return (
        all(a <= b for a, b in zip(sorted(one.way.size_mm), sorted(other.way.size_mm), strict=True))
        and one.way.mass_g <= other.way.mass_g
        and one.margin_h >= other.margin_h - 1.0
        and one.boxes >= other.boxes
    )


def _room(one: Judged) -> int:
    return one.way.size_mm[0] * one.way.size_mm[1] * one.way.size_mm[2]


def _refusal(parcel: Parcel, best: Judged | None) -> Refusal:
    name = parcel.candidate.piece if parcel.candidate else parcel.id.removeprefix("goods:")
    if best is None:
        return Refusal(
            parcel.line,
            name,
            "no_bag_fits",
            f"no bag in the tables takes {name} with water around it",
            "a wider bag or cup is added to the tables",
        )
    return Refusal(
        parcel.line,
        name,
        "no_bag_holds",
        f"the best bag for {name} ({best.way.type.words}, {best.way.gas.value}) falls "
        f"{-best.margin_h:.1f} h short of the time needed",
        "oxygen is at hand, the route is shorter or warmer, or the piece is smaller",
    )

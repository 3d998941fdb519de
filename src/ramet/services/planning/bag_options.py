"""For each candidate a short list of ways to bag it, each judged by the journey model.

Margins rest on the temperature that a bag is expected to have in a box whose layout is not known yet, and
on the longest time any bag can need; both are judged again once the true places are known.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ramet.domain.words import BagClass, Gas, Rank
from ramet.formats.shipment import Goods
from ramet.science.journey import breaks_at, forecast_at
from ramet.science.packed import PackedBag
from ramet.science.scenarios import Scenarios, TransitParameters
from ramet.services.planning.bagging import Way, ways
from ramet.services.planning.candidates import Candidate, Refusal
from ramet.services.planning.expected_heat import ExpectedHeat
from ramet.services.planning.gather import Inputs
from ramet.services.planning.goods_holds import held_goods
from ramet.services.planning.grouping import groups
from ramet.services.planning.packed_bags import Living, limit_words, living_corals, living_goods, packed_bag

_BAG_TYPES: tuple[Mapping[Gas, int], ...] = ({Gas.AIR: 3, Gas.OXYGEN: 1}, {Gas.AIR: 8, Gas.OXYGEN: 6})
"""How many sizes of bag are tried, from the smallest: few, and more when none holds with ease."""
_MOST_WAYS = 5
_NO_MATTER_H = 1.0
"""So much margin does not make up for a larger bag."""


@dataclass(frozen=True, slots=True)
class Judged:
    """A way to bag something with its expected margin; `boxes` are the boxes in which it holds."""

    way: Way
    margin_h: float
    boxes: frozenset[int]


@dataclass(frozen=True, slots=True)
class Parcel:
    """What goes as one bag: candidates (of one strain) or goods, for a line of the problem, with its ways."""

    id: str
    line: int
    candidates: tuple[Candidate, ...]
    goods: Goods | None
    living: Living
    ways: tuple[Judged, ...]

    @property
    def candidate(self) -> Candidate | None:
        """The first candidate, which stands for all in what their strain decides; None for goods."""
        return self.candidates[0] if self.candidates else None

    @property
    def name(self) -> str:
        """The pieces or the goods, as a grower calls them."""
        return ", ".join(one.piece for one in self.candidates) or self.id.removeprefix("goods:")

    def rank(self, inputs: Inputs) -> Rank:
        """Return how much its line matters."""
        requests = inputs.shipment.request
        if self.line < len(requests):
            return requests[self.line].rank
        return inputs.shipment.goods[self.line - len(requests)].rank

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
    """Judge the ways to bag every candidate and the goods; keep those that hold, a few for each.

    All ways are judged in the easiest box; the short list then in every other kind of box.
    """
    held = held_goods(inputs)
    alone = [coral_parcel(inputs, (one,)) for one in candidates]
    alone += [
        goods_parcel(inputs, number) for number in range(len(inputs.shipment.goods)) if number not in held
    ]
    together = [coral_parcel(inputs, group) for group in groups(inputs, candidates)]
    options = judge_bag_options(inputs, alone, together, heat)
    return replace(options, refusals=(*held.values(), *options.refusals))


def judge_bag_options(
    inputs: Inputs, alone: Sequence[Parcel], together: Sequence[Parcel], heat: Sequence[ExpectedHeat]
) -> BagOptions:
    """Judge the ways to bag some parcels; only of those that go `alone` is told why they cannot."""
    parcels = [*alone, *together]
    judge = _Judge(inputs, heat)
    known: dict[str, dict[Way, float]] = {parcel.id: {} for parcel in parcels}
    easy_h = inputs.reference.parameter("margin_easy_h").band.typical
    for bag_types in _BAG_TYPES:
        hard = [parcel for parcel in parcels if max(known[parcel.id].values(), default=-1.0) < easy_h]
        new = {
            parcel.id: [way for way in _ways(parcel, inputs, bag_types) if way not in known[parcel.id]]
            for parcel in hard
        }
        for parcel, margins in judge.in_easiest(hard, new):
            known[parcel.id].update(margins)
    listed = {parcel.id: _short_list(known[parcel.id]) for parcel in parcels}
    judged = judge.in_all(parcels, listed, known)
    return BagOptions(
        parcels=tuple(replace(parcel, ways=judged[parcel.id]) for parcel in parcels if judged[parcel.id]),
        refusals=tuple(
            _refusal(inputs, parcel, known[parcel.id]) for parcel in alone if not judged[parcel.id]
        ),
    )


@dataclass(frozen=True, slots=True)
class BestWay:
    """The way to bag something that comes nearest to its need, and what breaks first in it, in words."""

    way: Way
    margin_h: float
    breaks: str


def best_way(inputs: Inputs, parcel: Parcel, heat: Sequence[ExpectedHeat]) -> BestWay | None:
    """Return the best of all ways to bag something, in the box that is easiest on it; None without any."""
    judge = _Judge(inputs, heat)
    possible = _ways(parcel, inputs, _BAG_TYPES[-1])
    margins = next(margins for _, margins in judge.in_easiest([parcel], {parcel.id: possible}))
    if not margins:
        return None
    best = max(margins, key=lambda way: margins[way])
    code = judge.breaks(parcel, best)
    return BestWay(best, margins[best], limit_words(inputs, parcel.candidate).get(code, ""))


def coral_parcel(inputs: Inputs, candidates: tuple[Candidate, ...]) -> Parcel:
    """Return candidates of one line as one bag whose ways are not judged yet."""
    name = f"{candidates[0].request}:" + "+".join(one.piece for one in candidates)
    return Parcel(name, candidates[0].request, candidates, None, living_corals(candidates, inputs), ())


def goods_parcel(inputs: Inputs, number: int) -> Parcel:
    """Return the goods of that number as one bag whose ways are not judged yet."""
    goods = inputs.shipment.goods[number]
    line = len(inputs.shipment.request) + number
    return Parcel(f"goods:{goods.name}", line, (), goods, living_goods(goods, inputs), ())


def _ways(parcel: Parcel, inputs: Inputs, bag_types: Mapping[Gas, int]) -> tuple[Way, ...]:
    gear, content = inputs.shipment.gear, parcel.living.content
    lacking = frozenset(name for name, count in gear.bags.items() if count == 0)
    gases = [Gas.AIR, Gas.OXYGEN] if gear.oxygen and parcel.goods is None else [Gas.AIR]
    return tuple(
        way
        for gas in gases
        for way in ways(
            content, inputs.reference, inputs.fill_share, gas, bag_types[gas], inputs.rules, lacking
        )
    )


class _Judge:
    """Margins by the journey model, for the longest time that any bag of the shipment can need."""

    def __init__(self, inputs: Inputs, heat: Sequence[ExpectedHeat]) -> None:
        most_bags = inputs.most_bags
        self._inputs, self._heat = inputs, heat
        self._needed_h = inputs.clock.needed_h(most_bags, 1, most_bags)
        self._sealed_h = inputs.clock.sealed_before_h(most_bags, 1)
        self._floor_h = inputs.reference.parameter("expected_margin_floor_h").band.typical
        self._easiest = max(heat, key=lambda one: one.slack_k)

    def in_easiest(
        self, parcels: Sequence[Parcel], possible: Mapping[str, Sequence[Way]]
    ) -> Iterator[tuple[Parcel, dict[Way, float]]]:
        """Yield each parcel with the margin [h] of its ways in the box that is easiest on them."""
        margins = self._margins(parcels, possible, self._easiest)
        for parcel in parcels:
            yield parcel, margins[parcel.id]

    def breaks(self, parcel: Parcel, way: Way) -> str:
        """Return the limit that most often breaks first in a bag, in the box that is easiest on it."""
        bag = packed_bag(parcel.id, way, parcel.living, self._inputs, self._sealed_h)
        return breaks_at(bag, self._needed_h, *_road(self._easiest))

    def in_all(
        self,
        parcels: Sequence[Parcel],
        listed: Mapping[str, Sequence[Way]],
        easiest: Mapping[str, Mapping[Way, float]],
    ) -> dict[str, tuple[Judged, ...]]:
        """Return the listed ways with the boxes in which they hold; boxes that are alike are judged once.

        `easiest` are the margins already known, in the easiest box.
        """
        by_kind: dict[int, Mapping[str, Mapping[Way, float]]] = {self._easiest.kind: easiest}
        for one in self._heat:
            if one.kind not in by_kind:
                by_kind[one.kind] = self._margins(parcels, listed, one)
        return {parcel.id: self._judged(parcel, listed[parcel.id], by_kind) for parcel in parcels}

    def _judged(
        self, parcel: Parcel, listed: Sequence[Way], by_kind: Mapping[int, Mapping[str, Mapping[Way, float]]]
    ) -> tuple[Judged, ...]:
        """A way counts where its expected margin leaves something over, if any of the parcel's does."""
        margins = {way: [by_kind[one.kind][parcel.id][way] for one in self._heat] for way in listed}
        most = max((max(by_box) for by_box in margins.values()), default=0.0)
        least = self._floor_h if most >= self._floor_h else 0.0
        judged = (
            Judged(way, max(by_box), frozenset(box for box, margin in enumerate(by_box) if margin >= least))
            for way, by_box in margins.items()
        )
        return tuple(one for one in judged if one.boxes)

    def _margins(
        self, parcels: Sequence[Parcel], possible: Mapping[str, Sequence[Way]], heat: ExpectedHeat
    ) -> dict[str, dict[Way, float]]:
        pairs = [(parcel, way) for parcel in parcels for way in possible[parcel.id]]
        margins: dict[str, dict[Way, float]] = {parcel.id: {} for parcel in parcels}
        if pairs:
            bags = [
                packed_bag(parcel.id, way, parcel.living, self._inputs, self._sealed_h)
                for parcel, way in pairs
            ]
            for (parcel, way), hold_h in zip(pairs, _holds_p05(bags, heat), strict=True):
                margins[parcel.id][way] = float(hold_h) - self._needed_h
        return margins


def _holds_p05(bags: Sequence[PackedBag], heat: ExpectedHeat) -> NDArray[np.float64]:
    holds = forecast_at(bags, *_road(heat))
    return np.asarray(np.percentile(holds, 5, axis=1, method="inverted_cdf"))


def _road(
    heat: ExpectedHeat,
) -> tuple[
    NDArray[np.float64],
    NDArray[np.float64],
    TransitParameters,
    Scenarios,
    NDArray[np.float64],
    NDArray[np.float64],
]:
    """Return what the bags of a box meet on the way, as the forecast takes it."""
    motion = np.interp(heat.hours, heat.around.hours, heat.around.motion)
    pressure_atm = np.interp(heat.hours, heat.around.hours, heat.around.pressure_atm)
    return heat.hours, heat.bag_c, heat.parameters, heat.scenarios, motion, pressure_atm


def _short_list(margins: Mapping[Way, float]) -> tuple[Way, ...]:
    """Keep ways that hold and that no other beats in room, mass and margin at once; oxygen last."""
    best = sorted(
        (way for way, margin in margins.items() if margin >= 0),
        key=lambda way: (way.gas is Gas.OXYGEN, _room(way), way.mass_g, -margins[way]),
    )
    kept: list[Way] = []
    for way in best:
        if not any(_beats(other, way, margins) for other in kept):
            kept.append(way)
    return tuple(kept[:_MOST_WAYS])


def _beats(one: Way, other: Way, margins: Mapping[Way, float]) -> bool:
    return (
        all(a <= b for a, b in zip(sorted(one.size_mm), sorted(other.size_mm), strict=True))
        and one.mass_g <= other.mass_g
        and margins[one] >= margins[other] - _NO_MATTER_H
    )


def sooner(short_h: float) -> str:
    """Tell what would do for a bag that is so many hours short, other things as they are."""
    return f"it stands in the tank {math.ceil(short_h * 10) / 10:.1f} h sooner"


def _room(way: Way) -> int:
    return way.size_mm[0] * way.size_mm[1] * way.size_mm[2]


def _refusal(inputs: Inputs, parcel: Parcel, margins: Mapping[Way, float]) -> Refusal:
    name = parcel.name
    if not margins:
        return Refusal(
            parcel.line,
            name,
            "no_bag_fits",
            f"no bag at hand takes {name}" + ("" if parcel.goods else " with water around it"),
            "a bag or cup that is wide enough is at hand",
        )
    best = max(margins, key=lambda way: margins[way])
    return Refusal(
        parcel.line,
        name,
        "no_bag_holds",
        f"the best bag for {name} ({best.type.words}, {best.gas.value}) falls "
        f"{-margins[best]:.1f} h short of the time needed",
        sooner(-margins[best]),
    )

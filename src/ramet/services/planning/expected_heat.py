"""How warm a bag will be in each box before the layout is known, and which packs each box gets."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import exactly
from ramet.domain.words import Form, Gas
from ramet.reference.facts import PackType
from ramet.science.heat import box_only
from ramet.science.packed import PackedBag, Surroundings
from ramet.science.scenarios import Scenarios, TransitParameters, draw
from ramet.services.planning.bagging import ways
from ramet.services.planning.boxing import ReadyBox, with_packs
from ramet.services.planning.candidates import Candidate
from ramet.services.planning.gather import Inputs
from ramet.services.planning.packed_bags import living_corals, source_water
from ramet.services.planning.road import box_on_the_road, journey_air, main_system, softens
from ramet.services.trials.transit_inputs import (
    lateness,
    limits_for,
    transit_parameters,
)

Array = NDArray[np.float64]
_SCENARIOS = 48
_STEP_H = 1.0
"""Coarse: the packed boxes are forecast again in fine steps."""
_MOST_PACKS = 3
_FAR_BEHIND_K = 3.0
_BEYOND_NEED_H = 8.0
"""How far past the longest need a margin is told apart before the layout is known."""
_WORTH_K = 0.3
_EASY_K = 3.0
"""A box whose bags stay this far from both limits needs no further pack."""
_LEAST_WATER_L = 0.5


@dataclass(frozen=True, slots=True)
class ExpectedHeat:
    """Temperature of the mean bag of a box over the journey; boxes of one `kind` are alike.

    `slack_k` is how far the mean bag stays from cold and from heat.
    """

    kind: int
    slack_k: float
    hours: Array
    bag_c: Array
    around: Surroundings
    parameters: TransitParameters
    scenarios: Scenarios


@dataclass(frozen=True, slots=True)
class _Try:
    """A box with some packs, and how far its mean bag stays from cold and from heat [K]."""

    box: ReadyBox
    slack_k: float
    coldest_c: float
    warmest_c: float
    bag_c: Array


def equip(
    inputs: Inputs, candidates: Sequence[Candidate], boxes: Sequence[ReadyBox]
) -> tuple[tuple[ReadyBox, ...], tuple[ExpectedHeat, ...]]:
    """Give each box the packs that keep its mean bag furthest from cold and heat; tell why."""
    trials = _trials(inputs, candidates, boxes)
    left = dict(inputs.shipment.gear.packs)
    equipped: list[ReadyBox] = []
    for box in boxes:
        best = trials.best(box, left)
        for pack in best.packs:
            if pack.type.id in left:
                left[pack.type.id] -= 1
        equipped.append(best)
    return tuple(equipped), trials.heats(equipped)


def heat_in(
    inputs: Inputs, candidates: Sequence[Candidate], boxes: Sequence[ReadyBox]
) -> tuple[ExpectedHeat, ...]:
    """Return how warm the mean bag of boxes that have their packs already will be."""
    return _trials(inputs, candidates, boxes).heats(boxes)


def expected_water_l(inputs: Inputs, candidates: Sequence[Candidate]) -> float:
    """Return the least water that a full shipment holds: little water is what makes boxes swing."""
    fill = inputs.fill_share
    total = 0.0
    for line, request in enumerate(inputs.shipment.request):
        wished = [one for one in candidates if one.request == line][: request.count]
        for one in wished:
            found = ways(living_corals((one,), inputs).content, inputs.reference, fill, Gas.AIR, 1)
            total += min((way.water_l for way in found), default=0.0)
    return max(total, _LEAST_WATER_L)


def _trials(inputs: Inputs, candidates: Sequence[Candidate], boxes: Sequence[ReadyBox]) -> "_Trials":
    share = expected_water_l(inputs, candidates) / sum(_inner_l(box) for box in boxes)
    return _Trials(inputs, _air(inputs), share)


class _Trials:
    """Boxes tried with packs; boxes that are alike are run once."""

    def __init__(self, inputs: Inputs, air: ExpectedHeat, water_share: float) -> None:
        self._inputs, self._air, self._water_share = inputs, air, water_share
        self._limits = limits_for(inputs.reference, "unknown", Form.MASSIVE)
        self._last_opened_h = float(air.hours[-1]) - _BEYOND_NEED_H - inputs.clock.closing_h
        self._known: dict[tuple[str, ...], _Try] = {}

    def best(self, box: ReadyBox, left: Mapping[str, int]) -> ReadyBox:
        """Return the box with the packs, out of those left, that keep it furthest from cold and heat.

        Judged until the last bag is out of its box: packs that burn on in a warm room do harm there. First
        packs that warm (or cool) alone, then the best of these with packs that melt at a coral's
        temperature, which soften both the cold and the heat.
        """
        bare = self._attempt(box)
        found = [bare]
        for pack in self._wishes(bare, left):
            found += self._more_and_more(box, pack, left, bare, [])
        if max(one.slack_k for one in found) < _EASY_K:
            for base in _best_of_each_type(found):
                packs = [pack.type for pack in base.box.packs]
                for kind in self._softening(left):
                    found += self._more_and_more(box, kind, left, base, packs)
        # A further pack must win something: of those nearly as good as the best, the one with fewest packs.
        enough = min(max(one.slack_k for one in found) - _WORTH_K, _EASY_K)
        best = min((one for one in found if one.slack_k >= enough), key=_burden)
        return _with_reason(best, bare)

    def heats(self, boxes: Sequence[ReadyBox]) -> tuple[ExpectedHeat, ...]:
        """Return what the mean bag of each box will meet; boxes that are alike are run once."""
        kinds: dict[tuple[str, ...], int] = {}
        heats = []
        for box in boxes:
            kind, tried = kinds.setdefault(_kind(box), len(kinds)), self._attempt(box)
            heats.append(replace(self._air, kind=kind, slack_k=tried.slack_k, bag_c=tried.bag_c))
        return tuple(heats)

    def _bag_c(self, box: ReadyBox) -> Array:
        """Return the temperature of the mean bag on the grid of the journey; axes time, scenario."""
        packed = box_on_the_road(self._inputs, box, [_mean_bag(self._inputs, box, self._water_share)])
        return box_only(packed, self._air.hours, self._air.around, self._air.parameters, self._air.scenarios)

    def _more_and_more(
        self, box: ReadyBox, pack: PackType, left: Mapping[str, int], base: _Try, beside: Sequence[PackType]
    ) -> list[_Try]:
        """Try one, two, three packs of a type beside others, until one more does harm."""
        found: list[_Try] = []
        best = base.slack_k
        for count in range(1, min(_MOST_PACKS, left.get(pack.id, _MOST_PACKS)) + 1):
            tried = self._tries(box, [*beside, *([pack] * count)])
            if not tried or tried[0].slack_k < best:
                break
            found += tried
            best = tried[0].slack_k
        return found

    def _tries(self, box: ReadyBox, packs: Sequence[PackType]) -> list[_Try]:
        tried = with_packs(box, packs)
        return [] if tried is None else [self._attempt(tried)]

    def _attempt(self, box: ReadyBox) -> _Try:
        kind = _kind(box)
        if kind not in self._known:
            self._known[kind] = self._run(box)
        return replace(self._known[kind], box=box)

    def _run(self, box: ReadyBox) -> _Try:
        bag_c = self._bag_c(box)
        on_the_way = bag_c[: int(self._last_opened_h / _STEP_H) + 1]
        coldest = float(np.percentile(on_the_way, 5, axis=1).min())
        warmest = float(np.percentile(on_the_way, 95, axis=1).max())
        slack = min(coldest - self._level("cold"), self._level("heat") - warmest)
        return _Try(box, slack, coldest, warmest, bag_c)

    def _wishes(self, bare: _Try, left: Mapping[str, int]) -> Iterator[PackType]:
        """Yield types of pack worth trying: warming ones when cold is nearer than heat, else cooling ones.

        Of heat packs those that go out on the way, and the shortest-lived that do not.
        """
        cold = bare.coldest_c - self._level("cold") < self._level("heat") - bare.warmest_c
        if cold and self._inputs.shipment.carrier.heat_packs == "no":
            return
        packs = self._inputs.reference.packs.values()
        suiting = [pack for pack in packs if pack.warms == cold and not softens(pack)]
        suiting.sort(key=lambda one: (one.lasts_h, one.mass_kg, one.id))
        outlasting = [pack for pack in suiting if pack.lasts_h >= self._last_opened_h]
        for pack in suiting:
            if left.get(pack.id, 1) > 0 and (not cold or pack not in outlasting[1:]):
                yield pack

    def _softening(self, left: Mapping[str, int]) -> list[PackType]:
        packs = self._inputs.reference.packs.values()
        return [pack for pack in packs if softens(pack) and left.get(pack.id, 1) > 0]

    def _level(self, code: str) -> float:
        return next(limit.level for limit in self._limits if limit.code == code)


def _best_of_each_type(found: Sequence[_Try]) -> list[_Try]:
    """Return the best try of each set of types, without those far behind the best of all."""
    best: dict[frozenset[str], _Try] = {}
    for one in sorted(found, key=lambda one: -one.slack_k):
        best.setdefault(frozenset(pack.type.id for pack in one.box.packs), one)
    top = max(one.slack_k for one in found)
    return [one for one in best.values() if one.slack_k > top - _FAR_BEHIND_K]


def _burden(one: _Try) -> tuple[int, float, float]:
    packs = one.box.packs
    return (len(packs), sum(pack.type.mass_kg for pack in packs), -one.slack_k)


def _kind(box: ReadyBox) -> tuple[str, ...]:
    """Return what boxes that are alike have in common."""
    return (repr(box.type), *(pack.type.id for pack in box.packs))


def _with_reason(best: _Try, bare: _Try) -> ReadyBox:
    reason = (
        f"keeps the mean bag between {best.coldest_c:.1f} and {best.warmest_c:.1f} °C (5–95 %) on the way; "
        f"without packs {bare.coldest_c:.1f} to {bare.warmest_c:.1f} °C"
    )
    return replace(best.box, packs=tuple(replace(pack, reason=reason) for pack in best.box.packs))


def _air(inputs: Inputs) -> ExpectedHeat:
    parameters = transit_parameters(inputs.reference)
    last_h = inputs.clock.needed_h(inputs.most_bags, 1, inputs.most_bags) + _BEYOND_NEED_H
    return ExpectedHeat(
        kind=0,
        slack_k=0.0,
        hours=np.arange(0.0, last_h + _STEP_H / 2, _STEP_H),
        bag_c=np.empty((0, 0)),
        around=journey_air(inputs),
        parameters=parameters,
        scenarios=draw(parameters, lateness(inputs.shipment.delay), _SCENARIOS, inputs.seed),
    )


def _inner_l(box: ReadyBox) -> float:
    return box.inner_mm[0] * box.inner_mm[1] * box.inner_mm[2] / 1e6


def _mean_bag(inputs: Inputs, box: ReadyBox, water_share: float) -> PackedBag:
    """Return all water that a box is expected to hold as one bag at no known place."""
    most = inputs.reference.parameter("expected_water_share").band.high
    water_l = _inner_l(box) * min(water_share, most)
    water = source_water(inputs, main_system(inputs))
    side = round((water_l * 3e6) ** (1 / 3))
    return PackedBag(
        id=box.id,
        water_l=water_l,
        gas_l=2 * water_l,
        oxygen_fraction=0.2095,
        film_um=75,
        layers=1,
        film_area_cm2=1000,
        surface_cm2=200,
        start_c=water.temperature_c,
        salinity=water.salinity,
        alkalinity_meq_l=water.alkalinity_meq_l,
        ph_total=8.0,
        size_mm=(side, side, side),
        at_mm=None,
        animals=(),
        blank_umol_h=exactly(0.0),
        limits=(),
    )

"""How warm a bag will be in each box before the layout is known, and which packs each box gets."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import exactly
from ramet.domain.words import Form
from ramet.reference.facts import PackType
from ramet.science.heat import box_only
from ramet.science.packed import PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import Scenarios, TransitParameters, draw
from ramet.services.planning.boxing import ReadyBox, packs_that_fit, with_packs
from ramet.services.planning.gather import Inputs
from ramet.services.planning.packed_bags import source_water
from ramet.services.transit_inputs import lateness, limits_for, packed_box, surroundings, transit_parameters

Array = NDArray[np.float64]
_SCENARIOS = 64
_MOST_PACKS = 3
_BEYOND_NEED_H = 12.0
"""How far past the longest need a margin is told apart before the layout is known."""
_WORTH_K = 0.2
"""A further pack must win at least this much."""
_EASY_K = 3.0
"""A box whose bags stay this far from both limits needs no further pack."""


@dataclass(frozen=True, slots=True)
class ExpectedHeat:
    """Temperature of the mean bag of a box over the journey; boxes of one `kind` are alike."""

    kind: int
    hours: Array
    bag_c: Array
    around: Surroundings
    parameters: TransitParameters
    scenarios: Scenarios


@dataclass(frozen=True, slots=True)
class _Try:
    """A box with some packs, and how far its mean bag stays from cold and from heat [K]."""

    box: ReadyBox
    bag_c: Array
    slack_k: float
    coldest_c: float
    warmest_c: float


def horizon_h(inputs: Inputs, bags: int) -> float:
    """Return where the forecast ends: hours from departure, well past the longest need."""
    beyond = inputs.reference.parameter("horizon_beyond_need_h").band.typical
    return float(np.ceil(inputs.clock.needed_h(bags, 1, bags) + beyond))


def journey_air(inputs: Inputs) -> Surroundings:
    """Return the air around the boxes, from departure on."""
    return surroundings(
        inputs.shipment.leg,
        ZoneInfo(inputs.shipment.sending.zone),
        inputs.reference.parameter("forecast_error_c").band.typical,
        inputs.reference.parameter("receiving_room_c").band.typical,
        None if inputs.shipment.delay is None else inputs.shipment.delay.at_leg,
    )


def equip(inputs: Inputs, boxes: Sequence[ReadyBox]) -> tuple[tuple[ReadyBox, ...], tuple[ExpectedHeat, ...]]:
    """Give each box the packs that keep its mean bag furthest from cold and heat; tell why."""
    parameters = transit_parameters(inputs.reference)
    scenarios = draw(parameters, lateness(inputs.shipment.delay), _SCENARIOS, inputs.seed)
    around = journey_air(inputs)
    most_bags = sum(one.count for one in inputs.shipment.request)
    last_h = inputs.clock.needed_h(most_bags, 1, most_bags) + _BEYOND_NEED_H
    hours = np.arange(0.0, last_h + 0.25, 0.5)
    trials = _Trials(inputs, hours, around, parameters, scenarios)
    left = dict(inputs.shipment.gear.packs)
    equipped: list[ReadyBox] = []
    heats: list[ExpectedHeat] = []
    kinds: dict[tuple[str, ...], int] = {}
    for box in boxes:
        best = trials.best(box, left)
        for pack in best.box.packs:
            if pack.type.id in left:
                left[pack.type.id] -= 1
        kind = kinds.setdefault(_kind(best.box), len(kinds))
        equipped.append(best.box)
        heats.append(ExpectedHeat(kind, hours, best.bag_c, around, parameters, scenarios))
    return tuple(equipped), tuple(heats)


def empty_packed_box(inputs: Inputs, box: ReadyBox, bags: Sequence[PackedBag]) -> PackedBox:
    """Return a box as the journey model sees it, with its packs in the vented lid."""
    counts: dict[str, int] = {}
    for pack in box.packs:
        counts[pack.type.id] = counts.get(pack.type.id, 0) + 1
    return packed_box(
        inputs.reference,
        box.id,
        box.type.inner_mm,
        box.type.wall_mm,
        inputs.reference.foams[box.type.foam],
        bags,
        counts,
    )


class _Trials:
    """Boxes tried with packs; boxes that are alike are run once."""

    def __init__(
        self,
        inputs: Inputs,
        hours: Array,
        around: Surroundings,
        parameters: TransitParameters,
        scenarios: Scenarios,
    ) -> None:
        self._inputs, self._hours, self._around = inputs, hours, around
        self._parameters, self._scenarios = parameters, scenarios
        self._limits = limits_for(inputs.reference, "unknown", Form.MASSIVE)
        self._last_opened_h = float(hours[-1]) - _BEYOND_NEED_H - inputs.clock.closing_h
        self._known: dict[tuple[str, ...], _Try] = {}

    def best(self, box: ReadyBox, left: Mapping[str, int]) -> _Try:
        """Return the box with the packs, out of those left, that keep it furthest from cold and heat.

        Judged until the last bag is out of its box: packs that burn on in a warm room do harm there.
        """
        bare = self._attempt(box)
        best = bare
        for pack, count in self._wishes(box, left, bare):
            if best.slack_k >= _EASY_K:
                break
            tried = self._attempt(with_packs(box, pack, count, ""))
            if tried.slack_k > best.slack_k + _WORTH_K:
                best = tried
        return replace(best, box=_with_reason(best, bare))

    def _attempt(self, box: ReadyBox) -> _Try:
        kind = _kind(box)
        if kind not in self._known:
            self._known[kind] = self._run(box)
        return replace(self._known[kind], box=box)

    def _run(self, box: ReadyBox) -> _Try:
        packed = empty_packed_box(self._inputs, box, [_mean_bag(self._inputs, box)])
        bag_c = box_only(packed, self._hours, self._around, self._parameters, self._scenarios)
        on_the_way = bag_c[: int(np.searchsorted(self._hours, self._last_opened_h)) + 1]
        coldest = float(np.percentile(on_the_way, 5, axis=1).min())
        warmest = float(np.percentile(on_the_way, 95, axis=1).max())
        slack = min(coldest - self._level("cold"), self._level("heat") - warmest)
        return _Try(box, bag_c, slack, coldest, warmest)

    def _wishes(self, box: ReadyBox, left: Mapping[str, int], bare: _Try) -> Iterator[tuple[PackType, int]]:
        """Yield packs worth trying: those that warm when cold is nearer than heat, else those that cool."""
        cold = bare.coldest_c - self._level("cold") < self._level("heat") - bare.warmest_c
        if cold and self._inputs.shipment.carrier.heat_packs == "no":
            return
        suiting = [
            pack
            for pack in self._inputs.reference.packs.values()
            if pack.warms == cold
        ]
        for pack in sorted(suiting, key=lambda one: (one.lasts_h, one.mass_kg, one.id)):
            most = min(_MOST_PACKS, packs_that_fit(box, pack), left.get(pack.id, _MOST_PACKS))
            for count in range(1, most + 1):
                yield pack, count

    def _level(self, code: str) -> float:
        return next(limit.level for limit in self._limits if limit.code == code)


def _kind(box: ReadyBox) -> tuple[str, ...]:
    """Return what boxes that are alike have in common."""
    return (repr(box.type), *(pack.type.id for pack in box.packs))


def _with_reason(best: _Try, bare: _Try) -> ReadyBox:
    if not best.box.packs:
        return best.box
    reason = (
        f"keeps the mean bag between {best.coldest_c:.1f} and {best.warmest_c:.1f} °C (5–95 %) on the way; "
        f"without packs {bare.coldest_c:.1f} to {bare.warmest_c:.1f} °C"
    )
    return replace(best.box, packs=tuple(replace(pack, reason=reason) for pack in best.box.packs))


def _mean_bag(inputs: Inputs, box: ReadyBox) -> PackedBag:
    """Return all water that a box is expected to hold as one bag at no known place."""
    inner_l = box.inner_mm[0] * box.inner_mm[1] * box.inner_mm[2] / 1e6
    water_l = inner_l * inputs.reference.parameter("expected_water_share").band.typical
    system = inputs.stock.pieces[0].system if inputs.stock.pieces else ""
    water = source_water(inputs, system)
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

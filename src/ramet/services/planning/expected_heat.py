"""How warm a bag will be in each box before the layout is known, and which packs each box gets."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import exactly
from ramet.domain.words import Form
from ramet.reference.facts import PackType
from ramet.science.heat import box_only
from ramet.science.packed import Limit, PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import Scenarios, TransitParameters, draw
from ramet.services.planning.boxing import ReadyBox, packs_that_fit, with_packs
from ramet.services.planning.gather import Inputs
from ramet.services.planning.packed_bags import source_water
from ramet.services.transit_inputs import lateness, limits_for, packed_box, surroundings, transit_parameters

Array = NDArray[np.float64]
_SCENARIOS = 64
_MOST_PACKS = 3
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
    hours = np.arange(0.0, horizon_h(inputs, sum(one.count for one in inputs.shipment.request)) + 0.25, 0.5)
    left = dict(inputs.shipment.gear.packs)
    equipped: list[ReadyBox] = []
    heats: list[ExpectedHeat] = []
    kinds: dict[tuple[str, tuple[str, ...]], int] = {}
    for box in boxes:
        best = _best_try(inputs, box, left, hours, around, parameters, scenarios)
        for pack in best.box.packs:
            if pack.type.id in left:
                left[pack.type.id] -= 1
        kind = kinds.setdefault((box.type.id, tuple(pack.type.id for pack in best.box.packs)), len(kinds))
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


def _best_try(
    inputs: Inputs,
    box: ReadyBox,
    left: dict[str, int],
    hours: Array,
    around: Surroundings,
    parameters: TransitParameters,
    scenarios: Scenarios,
) -> _Try:
    needed = int(np.searchsorted(hours, (inputs.clock.due - inputs.clock.departs).total_seconds() / 3600))
    limits = limits_for(inputs.reference, "unknown", Form.MASSIVE)

    def attempt(trial: ReadyBox) -> _Try:
        bag_c = box_only(
            empty_packed_box(inputs, trial, [_mean_bag(inputs, trial)]), hours, around, parameters, scenarios
        )
        coldest = float(np.percentile(bag_c[: needed + 1], 5, axis=1).min())
        warmest = float(np.percentile(bag_c[: needed + 1], 95, axis=1).max())
        slack = min(coldest - _level(limits, "cold"), _level(limits, "heat") - warmest)
        return _Try(trial, bag_c, slack, coldest, warmest)

    bare = attempt(box)
    best = bare
    for pack, count in _wishes(inputs, box, left, bare, limits):
        if best.slack_k >= _EASY_K:
            break
        tried = attempt(with_packs(box, pack, count, ""))
        if tried.slack_k > best.slack_k + 0.2:
            best = tried
    return replace(best, box=_with_reason(best, bare))


def _wishes(
    inputs: Inputs, box: ReadyBox, left: dict[str, int], bare: _Try, limits: Sequence[Limit]
) -> Iterator[tuple[PackType, int]]:
    """Yield packs worth trying: those that warm when cold is nearer than heat, else those that cool."""
    cold = bare.coldest_c - _level(limits, "cold") < _level(limits, "heat") - bare.warmest_c
    if cold and inputs.shipment.carrier.heat_packs == "no":
        return
    lasting_h = (inputs.clock.due - inputs.clock.departs).total_seconds() / 3600
    suiting = [
        pack
        for pack in inputs.reference.packs.values()
        if pack.warms == cold and (not cold or pack.lasts_h >= lasting_h)
    ]
    for pack in sorted(suiting, key=lambda one: (one.lasts_h, one.mass_kg, one.id)):
        most = min(_MOST_PACKS, packs_that_fit(box, pack), left.get(pack.id, _MOST_PACKS))
        for count in range(1, most + 1):
            yield pack, count


def _with_reason(best: _Try, bare: _Try) -> ReadyBox:
    if not best.box.packs:
        return best.box
    reason = (
        f"keeps the mean bag between {best.coldest_c:.1f} and {best.warmest_c:.1f} °C (5–95 %) on the way; "
        f"without packs {bare.coldest_c:.1f} to {bare.warmest_c:.1f} °C"
    )
    return replace(best.box, packs=tuple(replace(pack, reason=reason) for pack in best.box.packs))


def _level(limits: Sequence[Limit], code: str) -> float:
    return next(limit.level for limit in limits if limit.code == code)


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

"""The forecast of the boxes as they are really packed, and the orders of sealing and opening that follow."""

from collections.abc import Sequence
from dataclasses import dataclass

from ramet.domain.words import Effort
from ramet.science.journey import Journey, forecast
from ramet.science.packed import PackedBag, PackedBox
from ramet.science.scenarios import draw
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.expected_heat import empty_packed_box, horizon_h, journey_air
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load, in_order
from ramet.services.planning.packed_bags import packed_bag, placed_bag
from ramet.services.transit_inputs import lateness, transit_parameters

SCENARIOS = {Effort.QUICK: 256, Effort.NORMAL: 1024, Effort.THOROUGH: 4096}
_FIRST_LOOK = 64


@dataclass(frozen=True, slots=True)
class LoadedJourney:
    """Loads in their final orders, and the forecast behind them, which lists the bags alike."""

    loads: tuple[Load, ...]
    journey: Journey
    horizon_h: float

    def hold_p05_h(self, bag: int) -> float:
        """Return the 5th percentile of the hold time, cut off at the horizon."""
        return min(self.horizon_h, self.journey.hold_percentiles_h(bag)[0])

    def margin_h(self, bag: int) -> float:
        """Return the margin of an on-time journey."""
        return self.hold_p05_h(bag) - self.loads[bag].needed_h

    def margin_late_h(self, bag: int, late_h: float) -> float:
        """Return the margin of a journey that is late, forecast with the boxes waiting that long."""
        late = min(self.horizon_h, self.journey.late_p05_h(bag))
        return late - self.loads[bag].needed_h - late_h


def run_journey(inputs: Inputs, boxes: Sequence[ReadyBox], loads: Sequence[Load]) -> LoadedJourney:
    """Forecast packed boxes: a first look sets the orders by hold time, the second judges in them."""
    end_h = horizon_h(inputs, len(loads))
    first = _run(inputs, boxes, loads, end_h, _FIRST_LOOK)
    holds = {load.id: first.hold_percentiles_h(bag)[0] for bag, load in enumerate(_by_box(boxes, loads))}
    ordered = _by_box(boxes, in_order(loads, holds, inputs.clock))
    return LoadedJourney(ordered, _run(inputs, boxes, ordered, end_h, SCENARIOS[inputs.effort]), end_h)


def _run(
    inputs: Inputs, boxes: Sequence[ReadyBox], loads: Sequence[Load], end_h: float, count: int
) -> Journey:
    parameters = transit_parameters(inputs.reference)
    scenarios = draw(parameters, lateness(inputs.shipment.delay), count, inputs.seed)
    packed = [
        _packed(inputs, box, [load for load in loads if load.box == box.id], len(loads)) for box in boxes
    ]
    used = [box for box in packed if box.bags]
    return forecast(used, journey_air(inputs), parameters, scenarios, end_h)


def _packed(inputs: Inputs, box: ReadyBox, loads: Sequence[Load], bags: int) -> PackedBox:
    return empty_packed_box(inputs, box, [_bag(inputs, load, bags) for load in _in_place(loads)])


def _bag(inputs: Inputs, load: Load, bags: int) -> PackedBag:
    clock = inputs.clock
    waits_h = clock.closing_h + (bags - max(load.sealing_order, 1) + 1) * clock.per_bag_h
    bag = packed_bag(load.id, load.way, load.parcel.living, inputs, waits_h)
    return placed_bag(bag, load.at_mm, load.size_mm)


def _by_box(boxes: Sequence[ReadyBox], loads: Sequence[Load]) -> tuple[Load, ...]:
    """Return loads in the order in which the forecast lists its bags."""
    return tuple(load for box in boxes for load in _in_place([one for one in loads if one.box == box.id]))


def _in_place(loads: Sequence[Load]) -> list[Load]:
    return sorted(loads, key=lambda one: one.id)

"""The forecast of the boxes as they are really packed, and the order of opening that follows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ramet.domain.words import Effort, PackingRule
from ramet.science.journey import forecast
from ramet.science.journey_result import Journey
from ramet.science.packed import PackedBag, PackedBox
from ramet.science.scenarios import draw
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load, in_opening_order
from ramet.services.planning.packed_bags import packed_bag, placed_bag
from ramet.services.planning.road import box_on_the_road, horizon_h, journey_air
from ramet.services.trials.transit_inputs import lateness, transit_parameters

SCENARIOS = {Effort.QUICK: 128, Effort.NORMAL: 1024, Effort.THOROUGH: 4096}


@dataclass(frozen=True, slots=True)
class LoadedJourney:
    """Loads in their final orders, and the forecast behind them, which lists the bags alike, in `boxes`."""

    loads: tuple[Load, ...]
    journey: Journey
    horizon_h: float
    boxes: tuple[PackedBox, ...]

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
    """Forecast the packed boxes and set the order of opening, thinnest bag first."""
    run = run_boxes(inputs, boxes, loads, horizon_h(inputs, len(loads)))
    holds = {load.id: run.journey.hold_percentiles_h(bag)[0] for bag, load in enumerate(run.loads)}
    thinnest_first = PackingRule.THINNEST_OPENED_FIRST in inputs.rules
    return replace(run, loads=in_opening_order(run.loads, holds, inputs.clock, thinnest_first))


def run_boxes(
    inputs: Inputs, boxes: Sequence[ReadyBox], loads: Sequence[Load], end_h: float
) -> LoadedJourney:
    """Forecast the packed boxes until `end_h`; the loads, listed box by box, keep the orders they have."""
    parameters = transit_parameters(inputs.reference)
    scenarios = draw(parameters, lateness(inputs.shipment.delay), SCENARIOS[inputs.effort], inputs.seed)
    packed = [
        box_on_the_road(inputs, box, [_bag(inputs, load) for load in _inside(box, loads)]) for box in boxes
    ]
    filled = tuple(box for box in packed if box.bags)
    journey = forecast(filled, journey_air(inputs), parameters, scenarios, end_h)
    listed = tuple(load for box in boxes for load in _inside(box, loads))
    return LoadedJourney(listed, journey, end_h, filled)


def _inside(box: ReadyBox, loads: Sequence[Load]) -> list[Load]:
    return [load for load in loads if load.box == box.id]


def _bag(inputs: Inputs, load: Load) -> PackedBag:
    bag = packed_bag(load.id, load.way, load.parcel.living, inputs, load.sealed_before_h)
    return placed_bag(bag, load.at_mm, load.size_mm)

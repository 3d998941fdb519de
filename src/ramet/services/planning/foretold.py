"""The forecast of a plan with what it was told; after a change at the bench, only touched boxes run again."""

from collections.abc import Sequence
from dataclasses import dataclass

from ramet.formats.plan import BagForecast, Forecast, Plan
from ramet.formats.told_journey import ToldJourney
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.forecast_rows import forecast_rows
from ramet.services.planning.gather import Inputs
from ramet.services.planning.journey_of_loads import LoadedJourney
from ramet.services.planning.loads import Load
from ramet.services.planning.planned_journey import told_journey


@dataclass(frozen=True, slots=True)
class Foretold:
    """The rows of a forecast, what they were told, and where they end."""

    rows: Forecast
    told: ToldJourney
    horizon_h: float


def foretold(inputs: Inputs, boxes: Sequence[ReadyBox], loaded: LoadedJourney) -> Foretold:
    """Return the forecast of packed boxes."""
    rows = forecast_rows(inputs, loaded)
    return Foretold(rows, told_journey(inputs, boxes, loaded.boxes), loaded.horizon_h)


def foretold_again(
    inputs: Inputs, plan: Plan, boxes: Sequence[ReadyBox], touched: LoadedJourney, loads: Sequence[Load]
) -> Foretold:
    """Return the forecast of a plan with some boxes run anew, its bags in the order of `loads`.

    What stands in the other boxes holds as long as before. Where such a bag is opened sooner it needs less;
    its chance stays as it was, which is then the least that it can be.
    """
    new = foretold(inputs, boxes, touched)
    if plan.journey is None:
        raise KeyError("journey")
    needed = {load.id: round(load.needed_h, 2) for load in loads}
    kept = [one for one in plan.forecast.bags if one.id in needed]
    rows = {one.id: _needs(one, needed[one.id], plan.forecast.late_h) for one in kept}
    rows |= {one.id: one for one in new.rows.bags}
    air = {one.id: one for one in (*plan.forecast.boxes, *new.rows.boxes)}
    told = {one.id: one for one in (*plan.journey.bags, *new.told.bags)}
    order = list(dict.fromkeys(load.box for load in loads))
    forecast = plan.forecast.model_copy(
        update={
            "scenarios": min(plan.forecast.scenarios, new.rows.scenarios),
            "boxes": tuple(air[box] for box in order),
            "bags": tuple(rows[load.id] for load in loads),
        }
    )
    told_boxes = {box.id: box for box in (*plan.journey.boxes, *new.told.boxes)}
    journey = plan.journey.model_copy(
        update={
            "boxes": tuple(told_boxes[box] for box in order),
            "bags": tuple(told[load.id] for load in loads),
        }
    )
    return Foretold(forecast, journey, plan.horizon_h)


def _needs(row: BagForecast, needed_h: float, late_h: float) -> BagForecast:
    late_p05 = row.hold_h.p05 if row.hold_late_p05_h is None else row.hold_late_p05_h
    return row.model_copy(
        update={
            "needed_h": needed_h,
            "margin_h": round(row.hold_h.p05 - needed_h, 2),
            "margin_late_h": round(late_p05 - needed_h - late_h, 2),
        }
    )

"""The journey of the loads as rows of the plan: percentiles, margins, series, limits to draw."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.formats.plan import (
    BagForecast,
    BagSeries,
    Bands,
    BoxForecast,
    Forecast,
    Leg,
    LimitLine,
    Percentiles,
    Sway,
)
from ramet.science.journey_result import NONE_BROKEN, Journey
from ramet.science.journey_result import Percentiles as Curves
from ramet.science.scenarios import WORDS
from ramet.services.planning.gather import Inputs
from ramet.services.planning.journey_of_loads import LoadedJourney
from ramet.services.planning.loads import Load
from ramet.services.planning.packed_bags import limit_words

NOTHING_BREAKS = "no limit within the forecast"
_MOST_SWAYS = 5
_DECIMALS = {"temperature_c": 2, "oxygen_mg_l": 2, "ph_total": 3, "unionised_ammonia_umol_l": 3}


@dataclass(frozen=True, slots=True)
class BagFacts:
    """What a row needs of a bag beside the journey: name, time needed, the limits that end a hold."""

    id: str
    needed_h: float
    limits: tuple[LimitLine, ...]


def forecast_rows(inputs: Inputs, loaded: LoadedJourney) -> Forecast:
    """Return the forecast of a plan."""
    late_h = inputs.reference.parameter("late_h").band.typical
    boxes = list(dict.fromkeys(load.box for load in loaded.loads))
    bags = [BagFacts(load.id, load.needed_h, _limits(inputs, load)) for load in loaded.loads]
    return forecast_of(loaded.journey, boxes, bags, tuple(_legs(inputs)), late_h, loaded.horizon_h)


def forecast_of(
    journey: Journey,
    boxes: Sequence[str],
    bags: Sequence[BagFacts],
    legs: tuple[Leg, ...],
    late_h: float,
    horizon_h: float,
) -> Forecast:
    """Return a journey as rows; boxes and bags are named in its order."""
    return Forecast(
        scenarios=journey.scenarios.count,
        late_h=late_h,
        hours=_rounded(journey.hours, 2),
        legs=legs,
        ambient_c=_bands(journey.ambient_c, 2),
        boxes=tuple(
            BoxForecast(id=box, temperature=_bands(air, 2))
            for box, air in zip(boxes, journey.air_c, strict=True)
        ),
        bags=tuple(_bag(journey, number, bag, late_h, horizon_h) for number, bag in enumerate(bags)),
    )


def _bag(journey: Journey, number: int, bag: BagFacts, late_h: float, horizon_h: float) -> BagForecast:
    needed_h = round(bag.needed_h, 2)
    hold = _hold(journey, number, horizon_h)
    words = {limit.code: limit.words for limit in bag.limits}
    holds = journey.holds
    first = holds.limit_short_of(number, bag.needed_h) if hold.p05 < needed_h else holds.first_limit(number)
    late_p05 = round(min(horizon_h, journey.late_p05_h(number)), 2)
    return BagForecast(
        id=bag.id,
        hold_h=hold,
        needed_h=needed_h,
        margin_h=round(hold.p05 - needed_h, 2),
        hold_late_p05_h=late_p05,
        margin_late_h=round(late_p05 - needed_h - late_h, 2),
        first_limit=NOTHING_BREAKS if first == NONE_BROKEN else words.get(first, first),
        chance_ok=round(journey.chance_ok(number, bag.needed_h), 4),
        chance_late=round(journey.chance_ok_day_late(number, bag.needed_h), 4),
        hangs_on=_hangs_on(journey, number),
        sways=_sways(journey, number),
        opened_ammonia_umol_l=round(journey.opened_ammonia_umol_l(number, bag.needed_h), 3),
        series=BagSeries(
            **{
                name: _bands(_curve(journey.series[name], number), places)
                for name, places in _DECIMALS.items()
            }
        ),
        limits=bag.limits,
    )


def _hangs_on(journey: Journey, number: int) -> str:
    """Return what the hold time goes with most; nothing, where no limit broke in any scenario."""
    if bool(journey.holds.censored[number].all()):
        return "nothing that was tried"
    return WORDS[journey.hangs_on(number)]


def _sways(journey: Journey, number: int) -> tuple[Sway, ...]:
    """Return the parameters that the hold goes with, the closest first; those lost in chance are left out."""
    if bool(journey.holds.censored[number].all()):
        return ()
    noise = 2.0 / np.sqrt(max(journey.scenarios.count, 1))
    found = sorted(journey.sensitivity(number).items(), key=lambda pair: (-abs(pair[1]), pair[0]))
    return tuple(
        Sway(parameter=name, words=WORDS[name], rank_correlation=round(with_it, 3))
        for name, with_it in found[:_MOST_SWAYS]
        if abs(with_it) > noise
    )


def _hold(journey: Journey, number: int, horizon_h: float) -> Percentiles:
    """Return hold times cut off at the horizon; the share that reaches it counts as outlasting it."""
    holds = np.minimum(journey.holds.hold_h[number], horizon_h)
    p05, p50, p95 = np.percentile(holds, [5, 50, 95], method="inverted_cdf")
    censored = float(np.mean(holds >= horizon_h))
    return Percentiles(
        p05=round(float(p05), 2),
        p50=round(float(p50), 2),
        p95=round(float(p95), 2),
        censored_share=round(censored, 4),
    )


def _limits(inputs: Inputs, load: Load) -> tuple[LimitLine, ...]:
    words = limit_words(inputs, load.parcel.candidate)
    return tuple(
        LimitLine(
            code=limit.code,
            words=words.get(limit.code, limit.code),
            quantity=limit.quantity,
            below=limit.below,
            level=limit.level,
            hours=limit.hours,
        )
        for limit in load.parcel.living.limits
        if limit.ends_hold
    )


def _legs(inputs: Inputs) -> Iterable[Leg]:
    start = inputs.clock.departs
    for leg in inputs.shipment.leg:
        yield Leg(
            name=leg.name,
            start_h=round((leg.start - start).total_seconds() / 3600, 2),
            end_h=round((leg.end - start).total_seconds() / 3600, 2),
            surroundings=leg.surroundings,
        )


def _curve(curves: Curves, number: int) -> Curves:
    return Curves(curves.p05[number], curves.p50[number], curves.p95[number])


def _bands(curves: Curves, places: int) -> Bands:
    return Bands(
        p05=_rounded(curves.p05, places), p50=_rounded(curves.p50, places), p95=_rounded(curves.p95, places)
    )


def _rounded(values: NDArray[np.float64], places: int) -> tuple[float, ...]:
    return tuple((np.round(values, places) + 0.0).tolist())

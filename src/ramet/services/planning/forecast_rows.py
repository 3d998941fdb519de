"""The journey of the loads as rows of the plan: percentiles, margins, series, limits to draw."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from ramet.domain.words import Tolerance
from ramet.formats.plan import (
    BagForecast,
    BagSeries,
    Bands,
    BoxForecast,
    Forecast,
    Leg,
    LimitLine,
    Percentiles,
)
from ramet.science.journey import NONE_BROKEN
from ramet.science.journey import Percentiles as Curves
from ramet.science.scenarios import WORDS
from ramet.services.planning.gather import Inputs
from ramet.services.planning.journey_of_loads import LoadedJourney
from ramet.services.planning.loads import Load
from ramet.services.planning.packed_bags import MEDIA_TOLERANCE

NOTHING_BREAKS = "no limit within the forecast"
_DECIMALS = {"temperature_c": 2, "oxygen_mg_l": 2, "ph_total": 3, "unionised_ammonia_umol_l": 3}


def forecast_rows(inputs: Inputs, loaded: LoadedJourney) -> Forecast:
    """Return the forecast of a plan."""
    journey = loaded.journey
    late_h = inputs.reference.parameter("late_h").band.typical
    boxes = list(dict.fromkeys(load.box for load in loaded.loads))
    return Forecast(
        scenarios=journey.scenarios.count,
        late_h=late_h,
        hours=_rounded(journey.hours, 2),
        legs=tuple(_legs(inputs)),
        ambient_c=_bands(journey.ambient_c, 2),
        boxes=tuple(
            BoxForecast(id=box, temperature=_bands(air, 2))
            for box, air in zip(boxes, journey.air_c, strict=True)
        ),
        bags=tuple(_bag(inputs, loaded, number, load, late_h) for number, load in enumerate(loaded.loads)),
    )


def _bag(inputs: Inputs, loaded: LoadedJourney, number: int, load: Load, late_h: float) -> BagForecast:
    journey = loaded.journey
    needed_h = round(load.needed_h, 2)
    hold = _hold(loaded, number)
    words = _limit_words(inputs, load)
    first = journey.holds.first_limit(number)
    late_p05 = round(min(loaded.horizon_h, journey.late_p05_h(number)), 2)
    return BagForecast(
        id=load.id,
        hold_h=hold,
        needed_h=needed_h,
        margin_h=round(hold.p05 - needed_h, 2),
        hold_late_p05_h=late_p05,
        margin_late_h=round(late_p05 - needed_h - late_h, 2),
        first_limit=NOTHING_BREAKS if first == NONE_BROKEN else words.get(first, first),
        chance_ok=round(journey.chance_ok(number, load.needed_h), 4),
        hangs_on=_hangs_on(loaded, number),
        opened_ammonia_umol_l=round(journey.opened_ammonia_umol_l(number, load.needed_h), 3),
        series=BagSeries(
            **{
                name: _bands(_curve(journey.series[name], number), places)
                for name, places in _DECIMALS.items()
            }
        ),
        limits=tuple(
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
        ),
    )


def _hangs_on(loaded: LoadedJourney, number: int) -> str:
    """Return what the hold time goes with most; nothing, where no limit broke in any scenario."""
    if bool(loaded.journey.holds.censored[number].all()):
        return "nothing that was tried"
    return WORDS[loaded.journey.hangs_on(number)]


def _hold(loaded: LoadedJourney, number: int) -> Percentiles:
    """Return hold times cut off at the horizon; the share that reaches it counts as outlasting it."""
    holds = np.minimum(loaded.journey.holds.hold_h[number], loaded.horizon_h)
    p05, p50, p95 = np.percentile(holds, [5, 50, 95], method="inverted_cdf")
    censored = float(np.mean(holds >= loaded.horizon_h))
    return Percentiles(
        p05=round(float(p05), 2),
        p50=round(float(p50), 2),
        p95=round(float(p95), 2),
        censored_share=round(censored, 4),
    )


def _limit_words(inputs: Inputs, load: Load) -> dict[str, str]:
    tolerance = MEDIA_TOLERANCE
    if load.parcel.candidate is not None:
        genus = inputs.reference.genus(load.parcel.candidate.taxon)
        tolerance = Tolerance.ORDINARY if genus is None else genus.tolerance
    return {row.code: row.words for row in inputs.reference.limits(tolerance)}


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
    return tuple(round(float(value), places) + 0.0 for value in values)

"""Forecast a packed box or a single bag from a trial file, without a ledger."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ramet.formats.transit_result import (
    BagPercentile,
    Opened,
    Percentile,
    ReachedLimit,
    TransitBag,
    TransitBox,
    TransitPercentiles,
    TransitResult,
    TransitWeather,
)
from ramet.reference.tables import Reference
from ramet.science.journey import forecast
from ramet.science.journey_result import NONE_BROKEN, Journey
from ramet.science.packed import Lateness, PackedBag, PackedBox
from ramet.science.scenarios import WORDS, central, draw
from ramet.services.trials.sensitivity import sensitivities
from ramet.services.trials.transit_inputs import transit_parameters
from ramet.services.trials.trial import Packed, Trial, packed, read_trial, surroundings_of
from ramet.services.trials.trial_boxes import Known
from ramet.services.trials.usual_way import read_usual, usual_way
from ramet.services.trials.what_if import waiting, what_ifs
from ramet.services.weather.sources import OFFLINE, NetworkAccess

Array = NDArray[np.float64]

_STEP_H = 0.5
_NO_GAS = "There is no gas in this bag: it lives on the oxygen of its water alone."
_PLACES = 6
_LATE_SHARE, _FEWEST_LATE = 8, 128
"""A day late is forecast for this part of the scenarios, at least so many."""
ON_TIME = Lateness(0.0, 0.0, 0.0)
"""A trial ends with its record; being late is a what-if."""


@dataclass(frozen=True, slots=True)
class TransitOrder:
    """What is asked of a trial. `scenarios` adds percentiles over that many draws; 0 adds none.

    What-ifs and the usual way are worked out over `compared` draws where `scenarios` is 0.
    """

    scenarios: int = 0
    seed: int = 1
    what_if: bool = False
    usual: Path | None = None
    access: NetworkAccess = OFFLINE
    compared: int = 256

    @property
    def draws(self) -> int:
        """How many draws a comparison takes."""
        return self.scenarios or self.compared


def run_transit(reference: Reference, path: Path, order: TransitOrder) -> TransitResult:
    """Read a trial and answer all that is asked. Raises BadInput with every problem of its files."""
    trial = read_trial(reference, path, order.access)
    usual = None if order.usual is None else read_usual(reference, order.usual)
    result = forecast_trial(reference, trial, order.scenarios, order.seed)
    more: dict[str, object] = {}
    if order.what_if:
        more["what_ifs"] = what_ifs(reference, trial, order.draws, order.seed)
    if usual is not None and order.usual is not None:
        ways = usual_way(reference, trial, usual, order.usual, order.draws, order.seed)
        there = packed(reference, ways.trial.written)
        central_run = _central(reference, ways.trial, there)
        more["usual"] = ways.beside(tuple(_bag(central_run, i, one) for i, one in enumerate(there.known)))
    return result.model_copy(update=more)


def forecast_trial(reference: Reference, trial: Trial, scenarios: int, seed: int) -> TransitResult:
    """Return the forecast of a trial that has been read."""
    there = packed(reference, trial.written)
    middle = _central(reference, trial, there)
    spread = _spread(reference, trial, there, scenarios, seed) if scenarios > 0 else None
    return TransitResult(
        name=trial.written.name,
        hours=_rounded(middle.hours),
        bags=tuple(_bag(middle, i, one) for i, one in enumerate(there.known)),
        boxes=_air(there.boxes, middle, "p50", there.real),
        reference_sha256=reference.sha256,
        overrides=reference.overrides,
        weather=TransitWeather(
            words=trial.air.words, source=trial.air.source, uncertain_c=trial.air.uncertain_c
        ),
        ambient_c=_rounded(middle.ambient_c.p50),
        sensitivity=sensitivities(reference, trial, there),
        percentiles=spread,
    )


def _central(reference: Reference, trial: Trial, there: Packed) -> Journey:
    parameters, around = transit_parameters(reference), surroundings_of(trial)
    return forecast(there.boxes, around, parameters, central(ON_TIME), trial.air.lasts_h, _STEP_H)


def _spread(
    reference: Reference, trial: Trial, there: Packed, scenarios: int, seed: int
) -> TransitPercentiles:
    parameters, around = transit_parameters(reference), surroundings_of(trial)
    draws = draw(parameters, ON_TIME, scenarios, seed)
    lasts = trial.air.lasts_h
    many = forecast(there.boxes, around, parameters, draws, lasts, _STEP_H)
    found = _percentiles(there.boxes, many, there.real, seed)
    wait = reference.parameter("what_if_depot_h").band.typical
    held = waiting(surroundings_of(trial, beyond_h=wait), lasts, wait)
    few = draws.part(0, max(_FEWEST_LATE, scenarios // _LATE_SHARE))
    late = forecast(there.boxes, held, parameters, few, lasts + wait, _STEP_H)
    bags = range(len(there.known))
    return found.model_copy(
        update={
            "chance_ok": tuple(round(many.chance_ok(i, lasts), 4) for i in bags),
            "chance_day_late": tuple(round(late.chance_ok(i, lasts + wait), 4) for i in bags),
        }
    )


def _bag(journey: Journey, place: int, known: Known) -> TransitBag:
    series = {name: _rounded(bands.p50[place]) for name, bands in journey.series.items()}
    opened = series.pop("opened_ammonia_umol_l")
    first = journey.holds.first_limit(place)
    return TransitBag(
        id=known.bag.id,
        box=known.box,
        **series,
        limits=tuple(_limits(journey, place, known.bag)),
        hold_h=round(float(journey.holds.hold_h[place, 0]), _PLACES),
        holds_to_end=bool(journey.holds.censored[place, 0]),
        first_limit=None if first == NONE_BROKEN else first,
        opened=Opened(ph_total=known.opened_ph, unionised_ammonia_umol_l=opened),
        defaults_used=known.defaults_used,
        cautions=(_NO_GAS,) if known.bag.gas_l == 0 else (),
    )


def _limits(journey: Journey, place: int, bag: PackedBag) -> list[ReachedLimit]:
    found = []
    for limit in bag.limits:
        hours = float(journey.holds.hits_h[limit.code][place, 0])
        reached = None if np.isinf(hours) or hours > journey.hours[-1] else round(hours, _PLACES)
        found.append(
            ReachedLimit(
                code=limit.code,
                quantity=limit.quantity,
                below=limit.below,
                level=limit.level,
                hours=limit.hours,
                ends_hold=limit.ends_hold,
                at_h=reached,
            )
        )
    return found


def _percentiles(boxes: Sequence[PackedBox], many: Journey, real: int, seed: int) -> TransitPercentiles:
    bags = [bag for box in boxes for bag in box.bags]
    return TransitPercentiles(
        scenarios=many.scenarios.count,
        seed=seed,
        hangs_on=tuple(_hangs_on(many, i) for i in range(len(bags))),
        p05=_percentile(boxes, many, "p05", 0, real),
        p50=_percentile(boxes, many, "p50", 1, real),
        p95=_percentile(boxes, many, "p95", 2, real),
    )


def _hangs_on(many: Journey, place: int) -> str:
    """Return what the hold hangs on, in words; a bag that nothing breaks hangs on nothing."""
    unbroken = bool(many.holds.censored[place].all())
    return "nothing: no limit is broken" if unbroken else WORDS[many.hangs_on(place)]


def _percentile(boxes: Sequence[PackedBox], many: Journey, name: str, which: int, real: int) -> Percentile:
    bags = []
    for place, id in enumerate(many.ids):
        series = {key: _rounded(getattr(bands, name)[place]) for key, bands in many.series.items()}
        opened = Opened(ph_total=8.1, unionised_ammonia_umol_l=series.pop("opened_ammonia_umol_l"))
        hold = round(many.hold_percentiles_h(place)[which], _PLACES)
        bags.append(BagPercentile(id=id, **series, hold_h=hold, opened=opened))
    return Percentile(bags=tuple(bags), boxes=_air(boxes, many, name, real))


def _air(boxes: Sequence[PackedBox], journey: Journey, name: str, real: int) -> tuple[TransitBox, ...]:
    """Return air temperatures of the boxes that are boxes, not open air."""
    pairs = list(zip(boxes, journey.air_c, strict=True))[:real]
    return tuple(TransitBox(id=box.id, air_c=_rounded(getattr(air, name))) for box, air in pairs)


def _rounded(values: Array) -> tuple[float, ...]:
    return tuple((np.round(values, _PLACES) + 0.0).tolist())

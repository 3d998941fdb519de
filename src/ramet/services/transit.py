"""Forecast a packed box or a single bag from a trial file, without a ledger."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.toml_reader import read_toml
from ramet.formats.transit import (
    BagPercentile,
    Opened,
    Percentile,
    ReachedLimit,
    TransitBag,
    TransitBox,
    TransitPercentiles,
    TransitResult,
    TransitTrial,
)
from ramet.reference.tables import Reference
from ramet.science.journey import NONE_BROKEN, Journey, forecast
from ramet.science.packed import Lateness, PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import WORDS, central, draw
from ramet.services.transit_inputs import transit_parameters
from ramet.services.trial_boxes import Known, known_bags, open_air, trial_box

Array = NDArray[np.float64]

_STEP_H = 0.5
_NO_GAS = "There is no gas in this bag: it lives on the oxygen of its water alone."
_PLACES = 6


def run_transit(reference: Reference, path: Path, scenarios: int, seed: int) -> TransitResult:
    """Read a trial and return its forecast. Raises BadInput with every problem of the file.

    `scenarios` adds percentiles over that many draws; 0 gives the central run alone.
    """
    read = read_toml(path, TransitTrial)
    if isinstance(read, tuple):
        raise BadInput(read)
    return forecast_trial(reference, read, scenarios, seed, str(path))


def forecast_trial(
    reference: Reference, trial: TransitTrial, scenarios: int, seed: int, file: str = ""
) -> TransitResult:
    """Return the forecast of a trial that has been read."""
    _refuse_unknown_packs(reference, trial, file)
    known = known_bags(reference, trial)
    boxes = _boxes(reference, trial, known)
    around = _around(trial)
    parameters = transit_parameters(reference)
    horizon = trial.ambient.hours[-1]
    on_time = Lateness(0.0, 0.0, 0.0)
    middle = forecast(boxes, around, parameters, central(on_time), horizon, _STEP_H)
    spread = None
    if scenarios > 0:
        many = forecast(
            boxes, around, parameters, draw(parameters, on_time, scenarios, seed), horizon, _STEP_H
        )
        spread = _percentiles(boxes, many, len(trial.box), seed)
    return TransitResult(
        name=trial.name,
        hours=_rounded(middle.hours),
        bags=tuple(_bag(middle, i, known[i]) for i in range(len(known))),
        boxes=_air(boxes, middle, "p50", len(trial.box)),
        reference_sha256=reference.sha256,
        overrides=reference.overrides,
        percentiles=spread,
    )


def _refuse_unknown_packs(reference: Reference, trial: TransitTrial, file: str) -> None:
    problems = [
        Problem(
            Place(file, None, f"box[{b}].packs[{p}].kind"),
            pack.kind,
            "a pack of the catalogue: " + ", ".join(sorted(reference.packs)),
        )
        for b, box in enumerate(trial.box, start=1)
        for p, pack in enumerate(box.packs, start=1)
        if pack.kind not in reference.packs
    ]
    if problems:
        raise BadInput(problems)


def _boxes(reference: Reference, trial: TransitTrial, known: Sequence[Known]) -> list[PackedBox]:
    boxes, first = [], 0
    for number, box in enumerate(trial.box, start=1):
        bags = [one.bag for one in known[first : first + len(box.bag)]]
        first += len(box.bag)
        boxes.append(trial_box(reference, box, box.id or f"box {number}", bags))
    return boxes + [open_air(one.bag) for one in known[first:]]


def _around(trial: TransitTrial) -> Surroundings:
    hours = np.array(trial.ambient.hours)
    return Surroundings(
        hours=hours,
        temperature_c=np.array(trial.ambient.temperature_c),
        motion=np.full(hours.size, 1.0 if trial.ambient.motion == "carried" else 0.0),
        pressure_atm=np.full(hours.size, trial.ambient.pressure_atm),
        offset_c=trial.ambient.uncertain_c,
        delay_at_h=float(hours[-1]),
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
        hangs_on=tuple(WORDS[many.hangs_on(i)] for i in range(len(bags))),
        p05=_percentile(boxes, many, "p05", 0, real),
        p50=_percentile(boxes, many, "p50", 1, real),
        p95=_percentile(boxes, many, "p95", 2, real),
    )


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
    return tuple(round(float(value), _PLACES) for value in values)

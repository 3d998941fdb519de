"""What would change the margin: the same trial with one thing different, over the same draws."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ramet.formats.fields import FileModel
from ramet.formats.transit import TransitTrial, TrialBag, TrialBox, TrialPack
from ramet.formats.transit_result import WhatIfRow
from ramet.reference.tables import Reference
from ramet.science.journey import forecast
from ramet.science.journey_result import Journey
from ramet.science.packed import Lateness, Surroundings
from ramet.science.scenarios import draw
from ramet.services.trials.transit_inputs import transit_parameters
from ramet.services.trials.trial import Trial, packed, surroundings_of, too_dry

Array = NDArray[np.float64]
Kept = TypeVar("Kept", bound=FileModel)

AS_WRITTEN = "as_written"
_AIR_OXYGEN = 0.2095
_ENRICHED = 0.5
"""Gas with more oxygen than this was filled from a cylinder."""
_DAY_H = 24.0
_NOON_H = 12.0
_PLACES = 3
_WORST_PERCENT = 5.0
_SHORT_RECORD_H = 24.0
_BEYOND = "past the end of the record its nearest day repeats"
_HELD = "past the end of the record its last value stays"


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is done differently: another trial, another departure, or a wait at the depot."""

    code: str
    words: str
    trial: TransitTrial
    leaves_h: float = 0.0
    waits_h: float = 0.0


def what_ifs(reference: Reference, trial: Trial, draws: int, seed: int) -> tuple[WhatIfRow, ...]:
    """Return a row for each bag under each change that makes sense for this trial, as written first."""
    if not (trial.written.bag or any(box.bag for box in trial.written.box)):
        return ()
    return compare(reference, trial, changes(reference, trial), draws, seed)


def compare(
    reference: Reference, trial: Trial, some: Sequence[Change], draws: int, seed: int
) -> tuple[WhatIfRow, ...]:
    """Return a row for each bag under each change; the first change is what the others are held against."""
    by_air: dict[tuple[float, float], list[Change]] = {}
    for one in some:
        by_air.setdefault((one.leaves_h, one.waits_h), []).append(one)
    found: dict[str, list[WhatIfRow]] = {}
    for alike in by_air.values():
        found |= _forecast(reference, trial, alike, draws, seed)
    return against_first([row for one in some for row in found[one.code]])


def against_first(rows: Sequence[WhatIfRow]) -> tuple[WhatIfRow, ...]:
    """Return rows with what each hold differs from that of its bag under the first change."""
    first = {row.bag: row.hold_p05_h for row in rows if row.change == rows[0].change}
    return tuple(
        row.model_copy(update={"delta_p05_h": round(row.hold_p05_h - first[row.bag], _PLACES)})
        for row in rows
    )


def changes(reference: Reference, trial: Trial) -> tuple[Change, ...]:
    """Return the trial as written, then every change that makes sense for it."""
    written = trial.written
    found = [Change(AS_WRITTEN, "as written", written)]
    found += _contents(reference, written)
    found += _packs(reference, trial)
    found += _departures(reference, trial)
    wait = reference.parameter("what_if_depot_h").band.typical
    words = f"held at the depot for {wait:g} h more"
    return (*found, Change("depot", words, written, waits_h=wait))


def with_bags(written: TransitTrial, change: Callable[[TrialBag], TrialBag]) -> TransitTrial:
    """Return a trial with every bag changed."""
    boxes = tuple(_copy(box, bag=tuple(change(bag) for bag in box.bag)) for box in written.box)
    return _copy(written, box=boxes, bag=tuple(change(bag) for bag in written.bag))


def filled(bag: TrialBag, water_l: float) -> TrialBag:
    """Return a bag with so much water, its gas taking or giving the place."""
    return _copy(bag, water_l=water_l, gas_l=bag.water_l + bag.gas_l - water_l)


def all_bags(written: TransitTrial) -> tuple[TrialBag, ...]:
    """Return the bags of all boxes, then those in the open air."""
    return (*(bag for box in written.box for bag in box.bag), *written.bag)


def _contents(reference: Reference, written: TransitTrial) -> Iterator[Change]:
    bags = all_bags(written)
    share = reference.parameter("what_if_water_change").band.typical
    less = with_bags(written, lambda bag: filled(bag, bag.water_l * (1 - share)))
    if not too_dry(reference, less, Path()):
        yield Change("less_water", f"{100 * share:.0f} % less water, gas in its place", less)
    if all(bag.gas_l > bag.water_l * share for bag in bags):
        more = with_bags(written, lambda bag: filled(bag, bag.water_l * (1 + share)))
        yield Change("more_water", f"{100 * share:.0f} % more water, less gas", more)
    if any(bag.gas_l > 0 and bag.oxygen_fraction < _ENRICHED for bag in bags):
        rich = reference.parameter("what_if_oxygen_fraction").band.typical
        yield Change("oxygen", "oxygen for air", with_bags(written, _enriched(rich)))
    if any(bag.gas_l > 0 and bag.oxygen_fraction >= _ENRICHED for bag in bags):
        plain = with_bags(written, lambda bag: _copy(bag, oxygen_fraction=_AIR_OXYGEN))
        yield Change("air", "air for oxygen", plain)
    if any(bag.layers == 1 and not bag.rigid for bag in bags):
        double = with_bags(written, lambda bag: bag if bag.rigid else _copy(bag, layers=max(2, bag.layers)))
        yield Change("double_bag", "a second bag around each", double)


def _enriched(fraction: float) -> Callable[[TrialBag], TrialBag]:
    return lambda bag: _copy(bag, oxygen_fraction=max(fraction, bag.oxygen_fraction))


def _packs(reference: Reference, trial: Trial) -> Iterator[Change]:
    written = trial.written
    if not written.box:
        return
    kind = _heat_pack(reference, trial)
    more = tuple(_copy(box, packs=(*box.packs, TrialPack(kind=kind))) for box in written.box)
    yield Change("more_heat", f"one more heat pack in each box ({kind})", _copy(written, box=more))
    warm = [pack for box in written.box for pack in box.packs if reference.packs[pack.kind].warms]
    if warm:
        less = tuple(_one_pack_fewer(reference, box) for box in written.box)
        yield Change("less_heat", "one heat pack fewer in each box", _copy(written, box=less))


def _heat_pack(reference: Reference, trial: Trial) -> str:
    """Return the kind of heat pack already used, else the least that lasts as long as the journey."""
    used = [pack.kind for box in trial.written.box for pack in box.packs if reference.packs[pack.kind].warms]
    if used:
        return used[0]
    warm = sorted(
        (row for row in reference.packs.values() if row.warms), key=lambda row: (row.lasts_h, row.id)
    )
    return next((row.id for row in warm if row.lasts_h >= trial.air.lasts_h), warm[-1].id)


def _one_pack_fewer(reference: Reference, box: TrialBox) -> TrialBox:
    packs = list(box.packs)
    for place, pack in enumerate(packs):
        if reference.packs[pack.kind].warms:
            packs[place : place + 1] = [_copy(pack, count=pack.count - 1)] if pack.count > 1 else []
            break
    return _copy(box, packs=tuple(packs))


def _departures(reference: Reference, trial: Trial) -> Iterator[Change]:
    """Leaving at another hour needs a record of at least a day: a shorter one says nothing of other hours."""
    if float(np.ptp(trial.air.hours)) < _SHORT_RECORD_H or np.ptp(trial.air.temperature_c) == 0:
        return
    shift = reference.parameter("what_if_shift_h").band.typical
    yield Change("earlier", f"leave {shift:g} h earlier", trial.written, leaves_h=-shift)
    yield Change("later", f"leave {shift:g} h later", trial.written, leaves_h=shift)
    clock = trial.air.clock_h
    if clock is None:
        return
    to_noon = (_NOON_H - clock + _DAY_H / 2) % _DAY_H - _DAY_H / 2
    if abs(to_noon) > 0.5 and abs(abs(to_noon) - shift) > 0.5:
        side = "later" if to_noon > 0 else "earlier"
        yield Change("noon", f"leave at noon ({abs(to_noon):.3g} h {side})", trial.written, leaves_h=to_noon)


def _forecast(
    reference: Reference, trial: Trial, alike: Sequence[Change], draws: int, seed: int
) -> dict[str, list[WhatIfRow]]:
    """Return rows by change. Changes that travel through the same air are forecast side by side."""
    parameters = transit_parameters(reference)
    beyond = reference.parameter("what_if_beyond_h").band.typical
    leaves, waits = alike[0].leaves_h, alike[0].waits_h
    needed = trial.air.lasts_h + waits
    around = waiting(surroundings_of(trial, leaves, beyond), trial.air.lasts_h, waits)
    there = [packed(reference, one.trial) for one in alike]
    boxes = [box for one in there for box in one.boxes]
    scenarios = draw(parameters, Lateness(0.0, 0.0, 0.0), draws, seed)
    journey = forecast(boxes, around, parameters, scenarios, needed + beyond)
    rows: dict[str, list[WhatIfRow]] = {}
    first = 0
    for change, one in zip(alike, there, strict=True):
        places = range(first, first + len(one.known))
        first = places.stop
        words = (change.code, change.words, _note(trial, change))
        rows[change.code] = [what_if_row(journey, i, words, needed, needed + beyond) for i in places]
    return rows


def what_if_row(
    journey: Journey, place: int, words: tuple[str, str, str], needed_h: float, looked_h: float
) -> WhatIfRow:
    """Return what one bag of a journey does; `words` are code, words and note of the change."""
    p05, p50, _, _ = journey.hold_percentiles_h(place)
    return WhatIfRow(
        change=words[0],
        words=words[1],
        note=words[2],
        bag=journey.ids[place],
        needed_h=needed_h,
        looked_h=looked_h,
        hold_p05_h=round(p05, _PLACES),
        hold_p50_h=round(p50, _PLACES),
        beyond=p05 >= looked_h - 1e-9,
        p50_beyond=p50 >= looked_h - 1e-9,
        delta_p05_h=0.0,
        margin_h=round(p05 - needed_h, _PLACES),
        chance_ok=round(journey.chance_ok(place, needed_h), 4),
        first_limit=_breaks_first(journey, place),
    )


def _breaks_first(journey: Journey, place: int) -> str | None:
    """Return the limit that most often ends the shortest holds, those up to p05."""
    holds, first = journey.holds.hold_h[place], journey.holds.first[place]
    worst = holds <= np.percentile(holds, _WORST_PERCENT, method="inverted_cdf")
    broken = first[worst & ~journey.holds.censored[place]]
    return journey.holds.codes[int(np.bincount(broken).argmax())] if broken.size else None


def _note(trial: Trial, change: Change) -> str:
    if trial.air.covers(change.leaves_h, change.leaves_h + trial.air.lasts_h):
        return ""
    return _BEYOND if float(np.ptp(trial.air.hours)) >= _SHORT_RECORD_H else _HELD


def waiting(around: Surroundings, lasts_h: float, wait_h: float) -> Surroundings:
    """Return surroundings in which boxes wait, unmoved, halfway, at the mean air of the journey."""
    if wait_h <= 0:
        return around
    at = lasts_h / 2
    hours = around.hours
    before, after = hours < at, hours > at
    inside = hours <= lasts_h
    mean = float(np.trapezoid(around.temperature_c[inside], hours[inside]) / np.ptp(hours[inside]))
    edge = min(0.1, lasts_h / 100)
    here = float(np.interp(at, hours, around.temperature_c))

    def joined(values: Array, arrives: float, stays: float, leaves: float) -> Array:
        return np.concatenate([values[before], [arrives, stays, stays, leaves], values[after]])

    grid = np.concatenate(
        [hours[before], [at, at + edge, at + wait_h - edge, at + wait_h], hours[after] + wait_h]
    )
    motion, pressure = float(around.motion[0]), float(around.pressure_atm[0])
    return replace(
        around,
        hours=grid,
        temperature_c=joined(around.temperature_c, here, mean, here),
        motion=joined(around.motion, motion, 0.0, motion),
        pressure_atm=joined(around.pressure_atm, pressure, 1.0, pressure),
        delay_at_h=around.delay_at_h + wait_h,
    )


def _copy(value: Kept, **changed: object) -> Kept:
    """Return a file value with some keys changed; what it was checked for still holds."""
    return value.model_copy(update=changed)

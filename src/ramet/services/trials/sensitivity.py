"""Which parameter moves the hold of a bag most: each in turn at its 5th and 95th percentile."""

import numpy as np

from ramet.formats.transit_result import BagSensitivity, MovedBy
from ramet.reference.tables import Reference
from ramet.science.journey import forecast
from ramet.science.journey_result import Journey
from ramet.science.packed import Lateness
from ramet.science.scenarios import DRAWN, P95, WORDS, Scenarios
from ramet.services.trials.transit_inputs import transit_parameters
from ramet.services.trials.trial import Packed, Trial, surroundings_of

_PLACES = 3
_LEAST_SWING_H = 0.01


def sensitivities(reference: Reference, trial: Trial, there: Packed) -> tuple[BagSensitivity, ...]:
    """Return, for each bag, how far every uncertain parameter moves its hold, the furthest first.

    Looks past the end of the journey, so that bags which hold on time can be told apart.
    """
    if not there.known:
        return ()
    beyond = reference.parameter("what_if_beyond_h").band.typical
    looked = trial.air.lasts_h + beyond
    around = surroundings_of(trial, beyond_h=beyond)
    journey = forecast(there.boxes, around, transit_parameters(reference), one_at_a_time(), looked)
    return tuple(_bag(journey, place, looked) for place in range(len(there.known)))


def one_at_a_time() -> Scenarios:
    """Return two scenarios for each drawn parameter: it at its 5th, then at its 95th, all else typical."""
    count = 2 * len(DRAWN)
    deviates = {}
    for place, name in enumerate(DRAWN):
        deviates[name] = np.zeros(count)
        deviates[name][2 * place : 2 * place + 2] = -P95, P95
    return Scenarios(deviates, Lateness(0.0, 0.0, 0.0), 0)


def _bag(journey: Journey, place: int, looked_h: float) -> BagSensitivity:
    holds = journey.holds.hold_h[place]
    rows = [
        MovedBy(
            parameter=name,
            words=WORDS[name],
            hold_low_h=round(float(holds[2 * i]), _PLACES),
            hold_high_h=round(float(holds[2 * i + 1]), _PLACES),
            swing_h=round(float(abs(holds[2 * i + 1] - holds[2 * i])), _PLACES),
        )
        for i, name in enumerate(DRAWN)
    ]
    moved = [row for row in rows if row.swing_h >= _LEAST_SWING_H]
    return BagSensitivity(
        bag=journey.ids[place],
        looked_h=looked_h,
        moved_by=tuple(sorted(moved, key=lambda row: (-row.swing_h, row.parameter))),
    )

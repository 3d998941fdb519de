"""The joint choice, judged by the journey of the boxes as packed, and repeated while a bag does not hold."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ramet.domain.words import Effort, Rank
from ramet.optimise.choose import choose
from ramet.optimise.problem import Budget, Problem, Result
from ramet.services.planning.bag_options import Judged, Parcel, sooner
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.candidates import Candidates, Refusal
from ramet.services.planning.coefficients import to_problem
from ramet.services.planning.gather import Inputs
from ramet.services.planning.gear import short_of_bags
from ramet.services.planning.journey_of_loads import LoadedJourney, run_journey
from ramet.services.planning.listening import Listener
from ramet.services.planning.loads import Load, to_loads
from ramet.services.planning.packed_bags import limit_words
from ramet.services.planning.tank_room import TankRoom

SEARCH_S = {Effort.QUICK: 1.6, Effort.NORMAL: 24.0, Effort.THOROUGH: 120.0}
"""Deterministic seconds of the first choice; each repetition gets half of it."""
_MOST_ROUNDS = 4
_MOST_GIVING_UP = 6
"""Rounds after those, in each of which wants and fillers that do not hold are given up at once."""


@dataclass(frozen=True, slots=True)
class Packed:
    """A choice with its places: `loads` in their final orders.

    `loaded` is the journey of the boxes that were forecast for it: all, or those that a change at the bench
    touched. `refusals` tells what tightening gave up, and why.
    """

    problem: Problem
    result: Result
    parcels: tuple[Parcel, ...]
    loads: tuple[Load, ...]
    loaded: LoadedJourney
    refusals: tuple[Refusal, ...]


def choose_until_it_holds(
    inputs: Inputs,
    found: Candidates,
    parcels: Sequence[Parcel],
    boxes: Sequence[ReadyBox],
    room: TankRoom,
    listener: Listener,
) -> Packed:
    """Choose, pack, forecast; take away the ways that did not hold in their place, and choose again.

    Ends when every bag holds, when the bags that do not hold are of musts without another way, or after some
    rounds; the plan then says which bag falls short. A filler or want that cannot be made to hold stays
    behind, and what promises no more than it with it.
    """
    refusals: list[Refusal] = []
    current = tuple(parcels)
    seconds = SEARCH_S[inputs.effort]
    cut_short = False
    rounds = 0
    ends: list[Packed] = []
    while True:
        problem = to_problem(inputs, found, current, boxes, room)
        result = choose(problem, Budget(seconds, inputs.seed), listener.hear, listener.should_stop)
        listener.enter("forecasting the packed boxes")
        loads = to_loads(result, current, boxes, inputs.clock)
        missing = short_of_bags(inputs, current, loads)
        if missing is not None:
            current = missing[0]
            refusals += missing[1]
            listener.enter("choosing again: more bags of a size than are at hand")
            continue
        loaded = run_journey(listener.hurried(inputs), boxes, loads)
        cut_short |= result.stopped_early
        told = replace(result, stopped_early=cut_short)
        packed = Packed(problem, told, current, loaded.loads, loaded, tuple(refusals))
        thin = [bag for bag in range(len(loaded.loads)) if loaded.margin_h(bag) < 0]
        rounds += 1
        ends = [*ends, packed] if rounds >= _MOST_ROUNDS else [packed]
        if not thin or rounds > _MOST_ROUNDS + _MOST_GIVING_UP:
            return max(ends, key=lambda end: _soundness(inputs, end))
        tighten = _tightened if rounds <= _MOST_ROUNDS else _without_thin
        tightened, given_up = tighten(inputs, current, boxes, loaded, thin)
        if tightened == current:
            return max(ends, key=lambda end: _soundness(inputs, end))
        refusals += given_up
        current, seconds = tightened, max(seconds / 2, SEARCH_S[inputs.effort] / 2**_MOST_ROUNDS)
        listener.enter(f"choosing again: {len(thin)} bags would not hold where they stood")


def _soundness(inputs: Inputs, packed: Packed) -> tuple[int, int]:
    """Return how good an end is: musts that hold, then few others that do not. Of equals the first counts.

    Fewer bags hold less warmth: giving up a filler can cost a must.
    """
    holding, failing = 0, 0
    for bag, load in enumerate(packed.loads):
        must = load.parcel.rank(inputs) is Rank.MUST
        holds = packed.loaded.margin_h(bag) >= 0
        holding += max(1, len(load.parcel.candidates)) if must and holds else 0
        failing += not must and not holds
    return holding, -failing


def _tightened(
    inputs: Inputs,
    parcels: Sequence[Parcel],
    boxes: Sequence[ReadyBox],
    loaded: LoadedJourney,
    thin: Sequence[int],
) -> tuple[tuple[Parcel, ...], list[Refusal]]:
    by_id = {parcel.id: parcel for parcel in parcels}
    names = [box.id for box in boxes]
    refusals: list[Refusal] = []
    for bag in thin:
        load = loaded.loads[bag]
        parcel = by_id[load.parcel.id]
        left = _without(parcel, load.judged, names.index(load.box), -loaded.margin_h(bag))
        if left:
            by_id[parcel.id] = replace(parcel, ways=left)
        elif parcel.rank(inputs) is not Rank.MUST:
            del by_id[parcel.id]
            breaks = _breaks(inputs, loaded, bag)
            refusals.append(_given_up(parcel, load, -loaded.margin_h(bag), breaks))
    return tuple(by_id[parcel.id] for parcel in parcels if parcel.id in by_id), refusals


def _without_thin(
    inputs: Inputs,
    parcels: Sequence[Parcel],
    boxes: Sequence[ReadyBox],
    loaded: LoadedJourney,
    thin: Sequence[int],
) -> tuple[tuple[Parcel, ...], list[Refusal]]:
    """Return the parcels without the wants and fillers that do not hold, whatever other ways they have.

    Nor those of their lines that promise no more, nor bags with one of the pieces in it.
    """
    refusals: list[Refusal] = []
    gone: set[str] = set()
    for bag in thin:
        load = loaded.loads[bag]
        if load.parcel.rank(inputs) is Rank.MUST:
            continue
        short_h = -loaded.margin_h(bag)
        refusals.append(_given_up(load.parcel, load, short_h, _breaks(inputs, loaded, bag)))
        pieces = {one.piece for one in load.parcel.candidates}
        for parcel in parcels:
            shares = bool(pieces & {one.piece for one in parcel.candidates}) or parcel.id == load.parcel.id
            if shares or _promises_no_more(parcel, load):
                gone.add(parcel.id)
                if not shares and len(parcel.candidates) == 1:
                    refusals.append(_no_better(parcel, load, short_h))
    return tuple(parcel for parcel in parcels if parcel.id not in gone), refusals


def _promises_no_more(parcel: Parcel, failed: Load) -> bool:
    most_h = max(way.margin_h for way in parcel.ways)
    return parcel.line == failed.parcel.line and most_h <= failed.judged.margin_h


def _no_better(parcel: Parcel, failed: Load, short_h: float) -> Refusal:
    return Refusal(
        parcel.line,
        parcel.name,
        "does_not_hold",
        f"{parcel.name} promises no more than {failed.parcel.name}, which fell {short_h:.1f} h short",
        sooner(short_h),
    )


def _without(parcel: Parcel, failed: Judged, box: int, short_h: float) -> tuple[Judged, ...]:
    """Return the ways without those that promise no better in that box than the one that failed there."""
    kept = []
    for way in parcel.ways:
        worse = way.margin_h <= failed.margin_h + (0.0 if way is failed else min(short_h, 1.0))
        boxes = way.boxes - {box} if worse else way.boxes
        if boxes:
            kept.append(replace(way, boxes=boxes))
    return tuple(kept)


def _breaks(inputs: Inputs, loaded: LoadedJourney, bag: int) -> str:
    """Return in words what breaks first in a bag that falls short."""
    code = loaded.journey.holds.limit_short_of(bag, loaded.loads[bag].needed_h)
    words = limit_words(inputs, loaded.loads[bag].parcel.candidate).get(code, "")
    return f": {words}" if words else ""


def _given_up(parcel: Parcel, load: Load, short_h: float, breaks: str) -> Refusal:
    return Refusal(
        parcel.line,
        parcel.name,
        "does_not_hold",
        f"{parcel.name} fell {short_h:.1f} h short in box {load.box}, in the best bag for it{breaks}",
        sooner(short_h),
    )

"""A change at the bench: the plan that stands, with the least change that a withdrawn piece asks for."""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ramet.formats.plan import Plan
from ramet.optimise.problem import Placed, Problem
from ramet.optimise.replan import Change, Replanned, replan
from ramet.services.planning.as_packed import AsPacked, as_packed
from ramet.services.planning.bag_options import Parcel, coral_parcel, judge_bag_options
from ramet.services.planning.bagging import Size
from ramet.services.planning.candidates import (
    Candidate,
    Candidates,
    answers,
    find_candidates,
    substitutes,
    whole_candidate,
    why_not,
)
from ramet.services.planning.coefficients import to_problem
from ramet.services.planning.expected_heat import heat_in
from ramet.services.planning.gather import Inputs
from ramet.services.planning.journey_of_loads import run_boxes
from ramet.services.planning.loads import Load
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import Packed

_MOST_SUBSTITUTES = 3
_SEARCH_ROUNDS = 80
"""Enough for one gap; the bench waits for the answer."""


@dataclass(frozen=True, slots=True)
class BenchChange:
    """What happened at the bench: bags sealed so far, a piece that cannot go, perhaps one to go instead."""

    packed: frozenset[str]
    withdrawn: str
    wanted: str | None = None


@dataclass(frozen=True, slots=True)
class Repacked:
    """The packing after a change. `packed` is None when nothing can be made of it; `words` say why."""

    before: AsPacked
    found: Candidates
    packed: Packed | None
    brought_in: tuple[str, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Bench:
    """What every attempt shares. `gone` is the place of the withdrawn piece's bag among the plan's."""

    inputs: Inputs
    found: Candidates
    before: AsPacked
    plan: Plan
    change: BenchChange
    gone: int


def repack(inputs: Inputs, plan: Plan, change: BenchChange) -> Repacked:
    """Return the plan's packing with the change made: sealed bags stay, all else moves as little as can be.

    A substitute goes when it holds where it would stand; the next best is tried when it does not. The piece
    withdrawn counts as staying in stock: what else is to be said of it is for the ledger.
    """
    found, before = find_candidates(inputs), as_packed(inputs, plan)
    gone = [i for i, load in enumerate(before.loads) if change.withdrawn in _pieces(load)]
    refused = _refused(inputs, plan, change) if gone else f"{change.withdrawn} is in no bag of this plan"
    if refused:
        return Repacked(before, found, None, (), (refused,))
    bench = _Bench(inputs, found, before, plan, change, gone[0])
    rest, others = _new_parcels(bench)
    words: list[str] = []
    while True:
        answer, packed = _attempt(bench, [*rest, *others], rest)
        if packed is None:
            return Repacked(before, found, None, (), tuple(_with_bag_names(bench, r) for r in answer.reasons))
        thin = _thin(bench, packed)
        others, tried = [one for one in others if one.name not in thin], others
        if len(others) == len(tried):
            break
        words += [f"{name} would not hold long enough where it would stand." for name in sorted(thin)]
    known = {piece for load in before.loads for piece in _pieces(load)}
    new = tuple(piece for load in packed.loads for piece in _pieces(load) if piece not in known)
    return Repacked(before, found, packed, new, (*_words(bench, answer, packed), *words))


def taken_by(plan: Plan) -> frozenset[str]:
    """Return the pieces that a plan sends and the mothers of the cuts among them, which stay."""
    return frozenset(name for one in plan.chosen for name in (one.piece, one.mother) if name is not None)


def _pieces(load: Load) -> tuple[str, ...]:
    return tuple(one.piece for one in load.parcel.candidates)


def _refused(inputs: Inputs, plan: Plan, change: BenchChange) -> str:
    """Return why the wanted piece cannot go, or nothing."""
    unknown = sorted(change.packed - {bag.id for bag in plan.bags})
    if unknown:
        return f"this plan has no bag {', '.join(unknown)}"
    if change.wanted is None:
        return ""
    if change.wanted in {one.piece for one in plan.chosen}:
        return f"{change.wanted} goes already"
    cuts = [one.piece for one in plan.chosen if one.mother == change.wanted]
    if cuts:
        return f"{change.wanted} is the mother of {', '.join(cuts)}, planned to go: she stays behind"
    piece = next((one for one in inputs.stock.pieces if one.piece == change.wanted), None)
    if piece is None:
        return f"{change.wanted} is not in stock"
    line = _line_of(inputs, plan, change)
    request = inputs.shipment.request[line]
    if not answers(request, piece, inputs):
        return f"{change.wanted} ({piece.taxon}) is not what the line “{request.id}” asks for"
    refusal = why_not(inputs, line, piece)
    return "" if refusal is None else refusal.text


def _line_of(inputs: Inputs, plan: Plan, change: BenchChange) -> int:
    line = next(one.request for one in plan.chosen if one.piece == change.withdrawn)
    return next(i for i, request in enumerate(inputs.shipment.request) if request.id == line)


def _new_parcels(bench: _Bench) -> tuple[list[Parcel], list[Parcel]]:
    """Return what is left of the withdrawn piece's bag, as a bag of its own, and the possible substitutes."""
    inputs, change = bench.inputs, bench.change
    line = _line_of(inputs, bench.plan, change)
    shared = bench.before.loads[bench.gone].parcel.candidates
    left = tuple(one for one in shared if one.piece != change.withdrawn)
    rest = [coral_parcel(inputs, left)] if left else []
    others = [coral_parcel(inputs, (one,)) for one in _substitutes(bench, line)]
    heat = heat_in(
        inputs, [one for load in bench.before.loads for one in load.parcel.candidates], bench.before.boxes
    )
    judged = {one.id: one for one in judge_bag_options(inputs, [*rest, *others], (), heat).parcels}
    return (
        [judged[one.id] for one in rest if one.id in judged],
        [judged[one.id] for one in others if one.id in judged],
    )


def _substitutes(bench: _Bench, line: int) -> Sequence[Candidate]:
    if bench.change.wanted is not None:
        wanted = next(one for one in bench.inputs.stock.pieces if one.piece == bench.change.wanted)
        return [whole_candidate(bench.inputs, line, wanted)]
    return substitutes(bench.inputs, line, taken_by(bench.plan))[:_MOST_SUBSTITUTES]


def _attempt(bench: _Bench, new: Sequence[Parcel], must: Sequence[Parcel]) -> tuple[Replanned, Packed | None]:
    before = bench.before
    parcels = (*before.parcels, *new)
    standing = len(before.parcels)
    problem = _problem(bench, parcels)
    wished = must if bench.change.wanted is None else new
    brought_in = {i for i, one in enumerate(parcels) if i >= standing and one in wished}
    sealed = {i for i, load in enumerate(before.loads) if load.id in bench.change.packed}
    change = Change(frozenset(sealed - {bench.gone}), frozenset({bench.gone}), frozenset(brought_in))
    answer = replan(problem, before.packing(bench.plan), change, bench.plan.seed, rounds=_SEARCH_ROUNDS)
    if answer.status == "impossible":
        return answer, None
    loads = _in_order(_loads(bench, answer, parcels), bench)
    touched = _touched(bench, loads)
    loaded = run_boxes(
        bench.inputs,
        [box for box in before.boxes if box.id in touched],
        [load for load in loads if load.box in touched],
        bench.plan.horizon_h,
    )
    return answer, Packed(problem, answer.result, parcels, loads, loaded, ())


def _touched(bench: _Bench, loads: Sequence[Load]) -> set[str]:
    """Return the boxes whose forecast the change alters: another bag, place or hour of sealing in them."""

    def seen(load: Load) -> tuple[str, str, Size, Size, float]:
        return (load.id, load.box, load.at_mm, load.size_mm, round(load.sealed_before_h, 4))

    before, now = {seen(one) for one in bench.before.loads}, {seen(one) for one in loads}
    return {box for _, box, *_ in before ^ now}


def _problem(bench: _Bench, parcels: Sequence[Parcel]) -> Problem:
    """Return the problem; what stands already counts as allowed, whatever the stock and the tank say now."""
    candidates = [one for parcel in parcels for one in parcel.candidates]
    problem = to_problem(
        bench.inputs, bench.found, parcels, bench.before.boxes, tank_room(bench.inputs, candidates)
    )
    used: Counter[str] = Counter()
    for number, item in enumerate(problem.items[: len(bench.before.parcels)]):
        if number != bench.gone:
            used.update(item.uses)
    caps = {name: max(most, used[name]) for name, most in problem.capacities.items()}
    return replace(problem, capacities=caps)


def _loads(bench: _Bench, answer: Replanned, parcels: Sequence[Parcel]) -> list[Load]:
    """Return the bags as they now stand; a bag keeps its name, a new one gets the next of its box."""
    before = bench.before
    taken = {load.id for load in before.loads} | _labels_before(bench.plan)
    loads = []
    for placed in answer.result.placed:
        parcel, box = parcels[placed.item], before.boxes[placed.bin].id
        if placed.item < len(before.loads):
            load = replace(before.loads[placed.item], at_mm=placed.at_mm, size_mm=placed.size_mm)
        else:
            name = _next_name(box, taken)
            taken.add(name)
            load = _new_load(name, parcel, placed, box)
        loads.append(load)
    return loads


def _labels_before(plan: Plan) -> set[str]:
    """Return the names of bags that earlier changes made or left behind: labels of theirs may lie about."""
    return {name for change in plan.changes for name in (*change.bags, change.not_sent)}


def _new_load(name: str, parcel: Parcel, placed: Placed, box: str) -> Load:
    return Load(name, parcel, parcel.ways[placed.choice], box, placed.at_mm, placed.size_mm)


def _next_name(box: str, taken: set[str]) -> str:
    number = 1
    while f"{box}{number}" in taken:
        number += 1
    return f"{box}{number}"


def _in_order(loads: Sequence[Load], bench: _Bench) -> tuple[Load, ...]:
    """Return the loads, box by box, in their orders of sealing and opening, with the time that each needs.

    Sealed bags keep their order and hour; the others follow, from the bottom up and as they were planned,
    as late as the departure allows. Opening orders stand on labels: a new bag takes that of the withdrawn.
    """
    gone, clock = bench.before.loads[bench.gone], bench.inputs.clock
    sealed = [one for one in loads if one.id in bench.change.packed]
    others = [one for one in loads if one.id not in bench.change.packed]
    sealed.sort(key=lambda one: one.sealing_order)
    others.sort(key=lambda one: (one.at_mm[2], one.sealing_order or gone.sealing_order + 0.5, one.id))
    ordered = [replace(one, sealing_order=place) for place, one in enumerate([*sealed, *others], start=1)]
    late = {one.id: clock.sealed_before_h(len(loads), one.sealing_order) for one in ordered[len(sealed) :]}
    soonest = max(late.values(), default=0.0)  # what is sealed already was sealed before all others
    timed = [
        replace(one, sealed_before_h=late.get(one.id, max(one.sealed_before_h, soonest))) for one in ordered
    ]
    opening = sorted(timed, key=lambda one: (one.opening_order or gone.opening_order, one.id))
    opened = [
        replace(one, opening_order=place, needed_h=clock.needed_from_h(one.sealed_before_h, place))
        for place, one in enumerate(opening, start=1)
    ]
    return tuple(sorted(opened, key=lambda one: (one.box, one.at_mm[2], one.at_mm[1], one.at_mm[0])))


def _thin(bench: _Bench, packed: Packed) -> set[str]:
    """Return the names of substitutes that do not hold where they stand."""
    known = {load.id for load in bench.before.loads}
    return {
        load.parcel.name
        for bag, load in enumerate(packed.loaded.loads)
        if load.id not in known and packed.loaded.margin_h(bag) < 0
    }


def _words(bench: _Bench, answer: Replanned, packed: Packed) -> list[str]:
    """Return what changes, as one says it at the bench."""
    before = {load.id: load for load in bench.before.loads}
    now = {load.id: load for load in packed.loads}
    gone = bench.before.loads[bench.gone]
    opened = " It is sealed: take it out and open it." if gone.id in bench.change.packed else ""
    words = [f"{bench.change.withdrawn} is withdrawn; bag {gone.id} is not sent.{opened}"]
    new = [load for id, load in now.items() if id not in before]
    words += [_goes_in(load) for load in new] or [_nothing_instead(bench)]
    moved = [id for id, load in now.items() if id in before and load.at_mm != before[id].at_mm]
    if moved:
        words.append(f"New places in their boxes: {', '.join(sorted(moved))}.")
    dropped = sorted(id for id in before if id not in now and id != gone.id)
    if dropped:
        listed = ", ".join(f"{before[id].parcel.name} (bag {id})" for id in dropped)
        words.append(f"Left behind for want of room: {listed}.")
    words += [
        f"Lift {upper} out, put {lower} under it, put {upper} back." for upper, lower in _lifted(bench, now)
    ]
    told = [_with_bag_names(bench, reason) for reason in answer.reasons]
    return [*words, *(reason[0].upper() + reason[1:] + "." for reason in told)]


def _goes_in(load: Load) -> str:
    """Tell what goes in a new bag, which bag, how it is filled and where it stands."""
    way = load.way
    twice = ", two bags one inside the other" if way.layers > 1 else ""
    filled = f"{way.water_l:.2f} L water, {way.gas_l:.2f} L {way.gas.value}"
    place = " / ".join(str(at) for at in load.at_mm)
    return (
        f"{load.parcel.name} goes in bag {load.id} ({way.type.words}{twice}; {filled}), "
        f"box {load.box} at {place} mm."
    )


def _nothing_instead(bench: _Bench) -> str:
    tried = [one.piece for one in _substitutes(bench, _line_of(bench.inputs, bench.plan, bench.change))]
    if not tried:
        return "Nothing goes in its place: nothing else that is ready answers to its line."
    return f"Nothing goes in its place: no bag and place was found that holds for {', '.join(tried)}."


def _with_bag_names(bench: _Bench, reason: str) -> str:
    """Return a reason with each item of the problem called by its bag."""
    names = {load.parcel.id: f"bag {load.id}" for load in bench.before.loads}
    ids = sorted(names, key=len, reverse=True)
    return re.sub("|".join(map(re.escape, ids)), lambda found: names[found[0]], reason)


def _lifted(bench: _Bench, now: Mapping[str, Load]) -> list[tuple[str, str]]:
    """Return sealed bags under which a bag comes that is sealed later."""
    return [
        (upper.id, lower.id)
        for upper in now.values()
        if upper.id in bench.change.packed
        for lower in now.values()
        if lower.box == upper.box
        and lower.sealing_order > upper.sealing_order
        and lower.at_mm[2] + lower.size_mm[2] <= upper.at_mm[2]
        and all(
            lower.at_mm[k] < upper.at_mm[k] + upper.size_mm[k]
            and upper.at_mm[k] < lower.at_mm[k] + lower.size_mm[k]
            for k in (0, 1)
        )
    ]

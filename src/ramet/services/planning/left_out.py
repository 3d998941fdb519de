"""Every request line that is short, why, and what would change it."""

import re
from collections import Counter
from collections.abc import Callable, Sequence

from ramet.domain.words import Effort, PackingRule, Rank
from ramet.formats.plan import LeftOut, Reason
from ramet.optimise.explain import NOTHING_ENOUGH, why_left
from ramet.optimise.problem import Budget, Why
from ramet.services.planning.bag_options import BagOptions
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.candidates import Candidates, Refusal
from ramet.services.planning.expected_heat import ExpectedHeat
from ramet.services.planning.gather import Inputs
from ramet.services.planning.remedies import Remedies, met
from ramet.services.planning.rules import rule_words
from ramet.services.planning.tank_room import scarce_words
from ramet.services.planning.tighten import Packed

Equipped = tuple[Sequence[ReadyBox], Sequence[ExpectedHeat]]
"""The boxes with their packs, and how warm bags will be in them."""
EXPLAIN_S = {Effort.QUICK: 0.5, Effort.NORMAL: 4.0, Effort.THOROUGH: 20.0}
_MOST_REASONS = 6
_TOLD_LAST = frozenset({"too_large", "too_small"})
"""A mother too large to travel is no news to a grower."""

_LAST_OF = re.compile(r"pieces of (.+) beyond the last")
_WORDS = {
    "no_room": "no room is left in the boxes for one more bag of this line",
    "no_box": "no box at hand is large enough for a bag of this line",
    "no_room_found": "no room was found in the boxes for one more bag of this line",
    "too_heavy": "one more bag would make the boxes too heavy",
    "outranked": "what goes instead ranks or counts higher",
}


def left_out(
    inputs: Inputs,
    found: Candidates,
    options: BagOptions,
    packed: Packed,
    equipped: Equipped,
    should_stop: Callable[[], bool] = lambda: False,
) -> tuple[LeftOut, ...]:
    """Return the lines that are short. Each reason was met in the planning.

    A remedy that was solved again says so (`tried`): those of the solver, and of each kind of refusal of a
    line the first, until asked to stop.
    """
    refusals = [*found.refusals, *options.refusals, *packed.refusals]
    budget = Budget(EXPLAIN_S[inputs.effort], inputs.seed)
    whys = why_left(packed.problem, packed.result, budget, should_stop)
    sent: Counter[int] = Counter()
    for load in packed.loads:
        sent[load.parcel.line] += max(1, len(load.parcel.candidates))
    remedies = Remedies(inputs, found, packed, *equipped)
    lines = [(one.id, one.rank, one.count) for one in inputs.shipment.request]
    lines += [(goods.name, goods.rank, 1) for goods in inputs.shipment.goods]
    return tuple(
        _line(
            id_,
            rank,
            count,
            sent[line],
            _tried(remedies, _about(line, refusals, packed), should_stop),
            [_solved(why, packed) for why in whys if why.line == line],
        )
        for line, (id_, rank, count) in enumerate(lines)
        if sent[line] < count
    )


def _line(
    id_: str, rank: Rank, wanted: int, sent: int, refused: Sequence[Reason], solved: Sequence[Reason]
) -> LeftOut:
    reasons = [*solved, *refused]
    if not reasons:
        reasons = [
            Reason(
                code="fewer_than_wanted",
                text=f"all {sent} that answer to this line go; {wanted} are wanted",
                would_fit_if="more pieces of this kind are ready by packing day",
            )
        ]
    return LeftOut(request=id_, rank=rank, wanted=wanted, sent=sent, reasons=tuple(reasons[:_MOST_REASONS]))


def _about(line: int, refusals: Sequence[Refusal], packed: Packed) -> list[Refusal]:
    """Return the refusals of a line, one for each piece, without pieces that go for another line."""
    going = {one.piece for load in packed.loads for one in load.parcel.candidates}
    found: dict[str | None, Refusal] = {}
    for refusal in refusals:
        if refusal.request == line and refusal.piece not in going:
            found.setdefault(refusal.piece, refusal)
    return sorted(found.values(), key=lambda refusal: (refusal.code in _TOLD_LAST, refusal.piece or ""))


def _tried(remedies: Remedies, refusals: Sequence[Refusal], should_stop: Callable[[], bool]) -> list[Reason]:
    """Return refusals as reasons, with the remedy of the first of each kind tried."""
    seen: set[str] = set()
    reasons = []
    for refusal in refusals[:_MOST_REASONS]:
        new = refusal.code not in seen and not should_stop()
        reasons.append(remedies.tried(refusal) if new else met(refusal))
        seen.add(refusal.code)
    return reasons


def _solved(why: Why, packed: Packed) -> Reason:
    """Return an answer of the solver in words: the smallest set of what binds, and what was solved again."""
    kind, _, name = why.code.partition(":")
    binds = why.together or (why.code,)
    if len(binds) > 1:
        told = "; ".join(_binding(code) for code in binds)
        text = f"several things hold it back together, none of them alone: {told}"
        would = ", and ".join(_more(code, words) for code, words in zip(binds, why.each, strict=True))
        return Reason(code="together", text=text, would_fit_if=would, binds=binds, tried=True)
    if kind == "resource":
        text, would = _scarce(why, name, packed)
        return Reason(code=f"resource: {name}", text=text, would_fit_if=would, binds=binds, tried=True)
    enough = why.would_fit_if != NOTHING_ENOUGH
    rank = packed.problem.lines[why.line].rank
    open_yet = kind == "no_room" and not packed.result.goals[rank].proven
    text = _binding("no_room_found" if open_yet else why.code)
    return Reason(code=kind, text=text, would_fit_if=why.would_fit_if, binds=binds, tried=enough)


def _binding(code: str) -> str:
    """Return what binds in words."""
    kind, _, name = code.partition(":")
    if kind == "excluded_by_rule":
        known = name in frozenset(PackingRule)
        return f"the rule “{rule_words(PackingRule(name)) if known else name.replace('_', ' ')}” keeps it out"
    if kind == "resource":
        strain = _strain_kept(name)
        return (
            f"one piece of {strain} stays, so that the strain is not lost"
            if strain
            else f"{name}: too few left"
        )
    return _WORDS.get(kind, kind.replace("_", " "))


def _more(code: str, words: str) -> str:
    """Return what would change it: the words of the solver, but those about the last piece of a strain."""
    strain = _strain_kept(code.partition(":")[2])
    return f"the line says last_of_strain = true, or {strain} has one more piece" if strain else words


def _strain_kept(name: str) -> str:
    """Return the strain whose last piece stays, where a scarce thing is that; else nothing."""
    found = _LAST_OF.fullmatch(name)
    return "" if found is None else found[1]


def _scarce(why: Why, name: str, packed: Packed) -> tuple[str, str]:
    """Tell by numbers what is scarce: all there is, what goes takes, and what one more would take."""
    if _strain_kept(name):
        return _binding(why.code), _more(why.code, why.would_fit_if)
    items = packed.problem.items
    used = sum(items[placed.item].uses.get(name, 0) for placed in packed.result.placed)
    one_more = min(
        (item.uses[name] for item in items if item.line == why.line and item.uses.get(name)), default=0
    )
    return scarce_words(name, packed.problem.capacities[name], used, one_more)

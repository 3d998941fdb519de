"""The same shipment with one box fewer or more, or over two days: each really solved, by expected margins."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from ramet.domain.words import Effort
from ramet.formats.plan import OtherWay
from ramet.optimise.choose import choose
from ramet.optimise.goals import Packing, contents_g, rank_key
from ramet.optimise.problem import Budget, Item, Problem, Result, with_box
from ramet.services.calendar.carrier_days import in_words, shipping_days
from ramet.services.planning.boxing import billed_kg
from ramet.services.planning.cost import per_piece, price_of
from ramet.services.planning.gather import Inputs
from ramet.services.planning.tighten import Packed

SOLVE_S = {Effort.QUICK: 0.2, Effort.NORMAL: 3.0, Effort.THOROUGH: 15.0}
"""Deterministic seconds for each way that is solved."""
_HARDER = 4.0
"""So many times as long where a quick search put a box more to no use, though something waits for it."""


@dataclass(frozen=True, slots=True)
class _Outcome:
    """What a problem, solved, carries: pieces (or goods) by line, boxes, and what these bill."""

    sent: Counter[int]
    boxes: int
    billed_kg: tuple[float, ...]
    result: Result

    @property
    def pieces(self) -> int:
        """Pieces and goods in all."""
        return sum(self.sent.values())

    @property
    def key(self) -> tuple[int, ...]:
        """Larger for the better outcome."""
        return rank_key([goal.value for goal in self.result.goals])

    @property
    def proven(self) -> bool:
        """Whether nothing carries more."""
        return all(goal.proven for goal in self.result.goals[:3])


def other_ways(
    inputs: Inputs, packed: Packed, should_stop: Callable[[], bool] = lambda: False
) -> tuple[OtherWay, ...]:
    """Return what one box fewer, one more, or a second sending would carry; less once asked to stop."""
    if not packed.result.placed or should_stop():
        return ()
    now = _outcome(inputs, packed.problem, packed.result)
    return tuple(
        way
        for make in (_fewer, _more, _second_day)
        if not should_stop() and (way := make(inputs, packed, now, should_stop)) is not None
    )


Ask = Callable[[], bool]


def _fewer(inputs: Inputs, packed: Packed, now: _Outcome, ask: Ask) -> OtherWay | None:
    used = sorted({placed.bin for placed in packed.result.placed})
    if len(used) < 2:
        return None
    kinds = _kinds(inputs, packed.problem, sorted(used, key=lambda b: _room(packed.problem, b)))
    problems = [_without_box(packed.problem, b) for b in kinds]
    best = _best(inputs, problems, ask)
    return _told(inputs, packed, now, best, "one_box_fewer", f"One box fewer ({best.boxes} in all)")


def _more(inputs: Inputs, packed: Packed, now: _Outcome, ask: Ask) -> OtherWay | None:
    if not _waiting(packed):
        return None
    every = sorted(range(len(packed.problem.bins)), key=lambda b: -_room(packed.problem, b))
    problems = [
        with_box(packed.problem, b, replace(packed.problem.bins[b], id="+"))
        for b in _kinds(inputs, packed.problem, every)
    ]
    best = _best(inputs, problems, ask)
    if inputs.effort is Effort.QUICK and best.key[:3] <= now.key[:3] and not best.proven:
        best = max(best, _best(inputs, problems, ask, _HARDER), key=lambda one: one.key)
    boxes = now.boxes + 1
    if best.key[:3] > now.key[:3] and best.boxes < boxes:
        return None  # a better set was found without one more
    if best.key[:3] <= now.key[:3]:
        told = _told(inputs, packed, now, now, "one_box_more", "")
        sure = "would carry nothing more" if best.proven else "carried nothing more in the time there was"
        return told.model_copy(update={"boxes": boxes, "text": f"One box more ({boxes} in all) {sure}."})
    return _told(inputs, packed, now, best, "one_box_more", f"One box more ({best.boxes} in all)")


def _second_day(inputs: Inputs, packed: Packed, now: _Outcome, ask: Ask) -> OtherWay | None:
    """Tell what the same boxes would carry on a second day of what stays behind, if it is anything."""
    rest = _rest(packed)
    if not any(item.choices for item in rest.items):
        return None
    second = _best(inputs, [rest], ask)
    if not second.pieces:
        return None
    leaves = inputs.clock.departs.date()
    day = next((one for one in shipping_days(inputs.shipment.carrier, leaves) if one > leaves), None)
    when = f"a second sending on {in_words(day)}" if day else "a second sending on another day"
    both = _Outcome(
        now.sent + second.sent, now.boxes + second.boxes, (*now.billed_kg, *second.billed_kg), second.result
    )
    return _told(inputs, packed, now, both, "two_days", f"Over two days, with {when} in boxes like these")


def _told(inputs: Inputs, packed: Packed, now: _Outcome, other: _Outcome, kind: str, words: str) -> OtherWay:
    names = [line.id for line in packed.problem.lines]
    gains = {names[k]: n for k, n in sorted((other.sent - now.sent).items())}
    loses = {names[k]: n for k, n in sorted((now.sent - other.sent).items())}
    pieces = sum(n for k, n in other.sent.items() if k < len(inputs.shipment.request))
    prices = [price_of(billed, inputs.shipment.carrier) for billed in other.billed_kg]
    cost = sum((price for price in prices if price is not None), Decimal(0)) if None not in prices else None
    parts = [f"{words}: {pieces} piece{'' if pieces == 1 else 's'}"]
    parts += [f"{sum(gains.values())} more ({_list(gains)})"] if gains else []
    parts += [f"{sum(loses.values())} fewer ({_list(loses)})"] if loses else []
    if not gains and not loses:
        parts.append("the same as now")
    return OtherWay.model_validate(
        {
            "kind": kind,
            "text": ", ".join(parts) + f"; billed {sum(other.billed_kg):.1f} kg.",
            "boxes": other.boxes,
            "pieces": pieces,
            "billed_kg": round(sum(other.billed_kg), 3),
            "cost": cost,
            "cost_per_piece": None if cost is None else per_piece(cost, pieces),
            "gains": gains,
            "loses": loses,
            "proven": other.proven,
        }
    )


def _list(counts: dict[str, int]) -> str:
    return ", ".join(f"{name} {count}" for name, count in counts.items())


def _best(inputs: Inputs, problems: Sequence[Problem], ask: Ask, harder: float = 1.0) -> _Outcome:
    budget = Budget(SOLVE_S[inputs.effort] * harder, inputs.seed)
    plain = [_without_margins(problem) for problem in problems]
    outcomes = [_outcome(inputs, problem, choose(problem, budget, should_stop=ask)) for problem in plain]
    return max(outcomes, key=lambda one: one.key)


def _without_margins(problem: Problem) -> Problem:
    """Return the problem with all margins alike: what is carried and billed is asked, not how safely."""
    items = (
        replace(item, choices=tuple(replace(one, margin_min=0) for one in item.choices))
        for item in problem.items
    )
    return replace(problem, items=tuple(items))


def _outcome(inputs: Inputs, problem: Problem, result: Result) -> _Outcome:
    packing = Packing(result.placed, result.boards)
    used = sorted({placed.bin for placed in result.placed})
    billed = tuple(_billed_kg(inputs, problem, packing, b) for b in used)
    return _Outcome(_sent(problem, result), len(used), billed, result)


def _sent(problem: Problem, result: Result) -> Counter[int]:
    sent: Counter[int] = Counter()
    for placed in result.placed:
        item = problem.items[placed.item]
        sent[item.line] += max(1, len(item.pieces))
    return sent


def _billed_kg(inputs: Inputs, problem: Problem, packing: Packing, b: int) -> float:
    """Return what a box bills by the carrier's own step, which a whole number of grams need not be (1 lb)."""
    box = problem.bins[b]
    floor_kg = max(0.0, box.billed_floor_g - 0.5) / 1000
    return billed_kg(
        max(floor_kg, (box.tare_g + contents_g(problem, packing, b)) / 1000), inputs.shipment.carrier
    )


def _kinds(inputs: Inputs, problem: Problem, boxes: Sequence[int]) -> tuple[int, ...]:
    """Return one box of each kind, in order; the first alone where there is no time for more."""
    kinds = {replace(problem.bins[b], id=""): b for b in reversed(boxes)}
    return tuple(sorted(kinds.values(), key=boxes.index))[: 1 if inputs.effort is Effort.QUICK else None]


def _room(problem: Problem, b: int) -> int:
    length, width, height = problem.bins[b].size_mm
    return length * width * height


def _without_box(problem: Problem, gone: int) -> Problem:
    bins = tuple(box for b, box in enumerate(problem.bins) if b != gone)
    return replace(problem, bins=bins, items=_with_boxes(problem, lambda b: b if b < gone else b - 1, gone))


def _with_boxes(problem: Problem, number: Callable[[int], int], gone: int) -> tuple[Item, ...]:
    items = []
    for item in problem.items:
        choices = (
            one if one.boxes is None else replace(one, boxes=frozenset(number(b) for b in one.boxes - {gone}))
            for one in item.choices
        )
        items.append(replace(item, choices=tuple(one for one in choices if one.boxes is None or one.boxes)))
    return tuple(items)


def _waiting(packed: Packed) -> bool:
    """Tell whether a line is short while something of it stays behind."""
    return any(item.choices for item in _rest(packed).items)


def _rest(packed: Packed) -> Problem:
    """Return the problem of what stays behind: fewer wanted of each line, less of all that is scarce."""
    problem = packed.problem
    going = _sent(problem, packed.result)
    gone = {piece for placed in packed.result.placed for piece in problem.items[placed.item].pieces}
    sent = {placed.item for placed in packed.result.placed}
    used: Counter[str] = Counter()
    for item in sent:
        used.update(problem.items[item].uses)
    lines = tuple(
        replace(line, wanted=max(0, line.wanted - going[k])) for k, line in enumerate(problem.lines)
    )
    items = tuple(
        item
        if k not in sent and not gone.intersection(item.pieces) and lines[item.line].wanted
        else replace(item, choices=())
        for k, item in enumerate(problem.items)
    )
    caps = {name: max(0, most - used[name]) for name, most in problem.capacities.items()}
    return replace(problem, lines=lines, items=items, capacities=caps)

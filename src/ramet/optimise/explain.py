"""Why a line is short, and what would change that: every answer is solved again before it is given."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from ramet.optimise.goals import Packing
from ramet.optimise.options import fits_floor, options
from ramet.optimise.problem import Bin, Budget, Line, Problem, Result, Rule, Why, with_box
from ramet.optimise.reach import at_once, by_search, carried
from ramet.optimise.replan import Change, replan
from ramet.optimise.solving import Account

HIGHER_MM = (20, 40, 60, 80)
LEAST_SEARCH_S = 0.3
_ROUNDS = 40
"""Rounds of a quick search for a place among bags that may move."""
TALLER_BOX_MM = (60, 120, 180)
HEAVIER_G = (250, 500, 1000, 2000, 4000)

NOTHING_ENOUGH = (
    "unknown: no change that was tried (rules off, more of what is scarce, more mass or room) is enough"
)
RULE_WORDS = {
    Rule.SOFT_NEVER_ABOVE: "soft corals may stand above others",
    Rule.SPREAD_MUSTS: "all musts may ride in one box",
    Rule.SPREAD_STRAINS: "all bags of a strain may ride in one box",
}


@dataclass(frozen=True, slots=True)
class _Change:
    """Something that might be otherwise: the code of what binds, the words, and how it changes a problem."""

    code: str
    words: str
    apply: Callable[[Problem], Problem]


def why_left(
    problem: Problem, result: Result, budget: Budget, should_stop: Callable[[], bool] = lambda: False
) -> tuple[Why, ...]:
    """Return for each short line what keeps one more bag out, and what was found to let it in.

    A change counts when all that goes now, and one more of the line, goes after it. Lines with nothing left
    to send get no answer here. The budget is shared by the short lines.
    """
    short = [k for k in range(len(problem.lines)) if _left(problem, result, k)]
    account = Account(budget, should_stop)
    found: list[Why] = []
    for done, k in enumerate(short):
        share = account.left_s / (len(short) - done)
        found += _why(problem, result, k, account, share)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Entry:
    """What it takes for one item to go besides what keeps it out: nothing where `needs` is empty.

    `instead` names lines of lower rank that would give way; `binds` has the code of each need.
    """

    needs: tuple[str, ...] = ()
    binds: tuple[str, ...] = ()
    instead: str = ""


def how_it_enters(problem: Problem, result: Result, item: int) -> Entry | None:
    """Return what it takes for an item to go with all that goes; None where nothing tried was enough.

    Tried in turn: as things stand, with other bags moved or of lower rank left behind, each change alone, all
    changes together.
    """
    line = problem.items[item].line
    alone = replace(
        problem,
        items=tuple(
            replace(one, choices=()) if one.line == line and k != item and not _goes(result, k) else one
            for k, one in enumerate(problem.items)
        ),
    )
    start = Packing(result.placed, result.boards)
    counts = carried(problem, start)
    counts[line] += 1
    if at_once(alone, counts, start, line):
        return Entry()
    done = replan(alone, start, Change(brought_in=frozenset({item})), rounds=_ROUNDS)
    lost = {problem.items[i].line for i in done.dropped}
    if item in done.added and all(problem.lines[k].rank > problem.lines[line].rank for k in lost):
        return Entry(instead=" and ".join(problem.lines[k].id for k in sorted(lost)))
    for k in _by_worth(problem, counts, line):
        fewer = [0 if j == k else count for j, count in enumerate(counts)]
        if problem.lines[k].rank > problem.lines[line].rank and at_once(alone, fewer, start, line):
            return Entry(instead=problem.lines[k].id)
    changes = list(_changes(alone, line))
    for change in changes:
        if at_once(change.apply(alone), counts, start, line):
            return Entry((change.words,), (change.code,))
    needed = _smallest(alone, counts, line, start, changes)
    if not needed:
        return None
    return Entry(tuple(change.words for change in needed), tuple(change.code for change in needed))


def _goes(result: Result, item: int) -> bool:
    return any(placed.item == item for placed in result.placed)


def _why(problem: Problem, result: Result, line: int, account: Account, share_s: float) -> list[Why]:
    if not any(problem.items[o.item].line == line for o in options(problem)):
        return [Why(line, *_no_box(problem, line))]
    start = Packing(result.placed, result.boards)
    counts = carried(problem, start)
    counts[line] += 1
    changes = list(_changes(problem, line))
    found = [c for c in changes if at_once(c.apply(problem), counts, start, line)]
    if not found:
        strongest = list({change.code: change for change in changes}.values())
        most = min(len(strongest), max(1, int(share_s / 3 / LEAST_SEARCH_S)))
        each = share_s / 3 / most
        found = [c for c in strongest[-most:] if by_search(c.apply(problem), counts, account, each)][:1]
    first = {change.code: Why(line, change.code, change.words) for change in reversed(found)}
    answers = [first[code] for code in dict.fromkeys(change.code for change in found)]
    if not answers:
        answers += _together(problem, counts, line, start, changes)
    answers += _outranked(problem, counts, line, start, account, share_s / 2)
    return answers or [Why(line, "no_room", NOTHING_ENOUGH)]


def _together(
    problem: Problem, counts: list[int], line: int, start: Packing, changes: Sequence[_Change]
) -> list[Why]:
    """Return what several changes at once let in, where no single one is enough."""
    needed = _smallest(problem, counts, line, start, changes)
    if not needed:
        return []
    words = " and ".join(change.words for change in needed)
    codes = tuple(change.code for change in needed)
    return [Why(line, codes[0], words, codes, tuple(change.words for change in needed))]


def _smallest(
    problem: Problem, counts: list[int], line: int, start: Packing, changes: Sequence[_Change]
) -> list[_Change]:
    """Return a smallest set of changes that is enough, none of which can be spared; empty when none is."""
    needed = list({change.code: change for change in changes}.values())

    def enough(some: Sequence[_Change]) -> bool:
        changed = problem
        for change in some:
            changed = change.apply(changed)
        return at_once(changed, counts, start, line)

    if not enough(needed):
        return []
    for change in tuple(reversed(needed)):
        without = [one for one in needed if one is not change]
        if enough(without):
            needed = without
    for k, change in enumerate(needed):  # each no stronger than it must be
        milder = (c for c in changes if c.code == change.code)
        needed[k] = next(c for c in milder if c is change or enough([*needed[:k], c, *needed[k + 1 :]]))
    return needed


def _changes(problem: Problem, line: int) -> Iterator[_Change]:
    """Changes from the cheapest to the dearest: rules, scarce things, mass, room."""
    for rule in sorted(problem.rules & RULE_WORDS.keys()):  # the others are preferences, keeping nothing out
        yield _Change(f"excluded_by_rule:{rule}", RULE_WORDS[rule], partial(_without_rule, rule))
    items = [item for item in problem.items if item.line == line]
    for name in sorted(problem.capacities):
        more = min((item.uses[name] for item in items if item.uses.get(name)), default=0)
        if more:
            yield _Change(f"resource:{name}", f"{name}: {more} more", partial(_with_more, name, more))
    for grams in HEAVIER_G:
        yield _Change("too_heavy", f"{_mass(grams)} more mass allowed in a box", partial(_heavier, grams))
    for rise in HIGHER_MM:
        yield _Change("no_room", f"{rise} mm more height in the boxes", partial(_higher, rise))
    for b, box in enumerate(problem.bins):
        if box not in problem.bins[:b]:
            yield _Change("no_room", f"one more box like {box.id}", partial(_with_box, b, 0))
    for rise in TALLER_BOX_MM if problem.bins else ():
        largest = max(range(len(problem.bins)), key=lambda b: (problem.bins[b].size_mm, -b))
        words = f"one more box like {problem.bins[largest].id}, {rise} mm higher inside"
        yield _Change("no_room", words, partial(_with_box, largest, rise))


def _outranked(
    problem: Problem, counts: list[int], line: int, start: Packing, account: Account, share_s: float
) -> list[Why]:
    """Return the lowest line that would have to stay behind for one more of this one."""
    others = _by_worth(problem, counts, line)
    fewer = {other: [0 if k == other else count for k, count in enumerate(counts)] for other in others}
    found = next((k for k in others if at_once(problem, fewer[k], start, line)), None)
    for other in others[: int(share_s / LEAST_SEARCH_S)] if found is None else ():
        if by_search(problem, fewer[other], account, LEAST_SEARCH_S):
            found = other
            break
    if found is None:
        return []
    return [Why(line, "outranked", f"line {problem.lines[found].id} stays behind")]


def _by_worth(problem: Problem, counts: Sequence[int], line: int) -> list[int]:
    """Return the other lines that send something, the least first."""
    return sorted(
        (k for k in range(len(problem.lines)) if k != line and counts[k]),
        key=lambda k: (-problem.lines[k].rank, _worth(problem.lines[k], counts[k]), problem.lines[k].id),
    )


def _worth(line: Line, count: int) -> int:
    return line.value * count


def _without_rule(rule: Rule, problem: Problem) -> Problem:
    return replace(problem, rules=problem.rules - {rule})


def _with_more(name: str, more: int, problem: Problem) -> Problem:
    return replace(problem, capacities={**problem.capacities, name: problem.capacities[name] + more})


def _heavier(grams: int, problem: Problem) -> Problem:
    heavier = (replace(box, max_contents_g=box.max_contents_g + grams) for box in problem.bins)
    return replace(problem, bins=tuple(heavier))


def _higher(rise: int, problem: Problem) -> Problem:
    return replace(problem, bins=tuple(_raised(box, rise) for box in problem.bins))


def _raised(box: Bin, rise: int) -> Bin:
    """A higher box: what hangs under the lid rises with it."""
    half = box.size_mm[2] / 2
    blocked = tuple(
        replace(body, at_mm=(*body.at_mm[:2], body.at_mm[2] + rise)) if body.at_mm[2] >= half else body
        for body in box.blocked
    )
    return replace(box, size_mm=(*box.size_mm[:2], box.size_mm[2] + rise), blocked=blocked)


def _with_box(b: int, rise: int, problem: Problem) -> Problem:
    """The problem with one more box like box `b`, perhaps higher; what may go into that may go into it."""
    box = problem.bins[b]
    wider = with_box(problem, b, replace(_raised(box, rise), id=f"{box.id}+"))
    # With one box there was nothing to spread over; what stands is not to be torn apart for the question.
    free = (
        problem.rules - {Rule.SPREAD_MUSTS, Rule.SPREAD_STRAINS} if len(problem.bins) == 1 else problem.rules
    )
    return replace(wider, rules=free)


def _no_box(problem: Problem, line: int) -> tuple[str, str]:
    choices = [c for item in problem.items if item.line == line for c in item.choices]
    least = min(choices, key=lambda c: (c.size_mm[0] * c.size_mm[1] * c.size_mm[2], c.size_mm, c.mass_g))
    if all(least.mass_g > box.max_contents_g for box in problem.bins):
        return "too_heavy", f"a box that may hold {_mass(least.mass_g)} besides its own parts"
    if any(fits_floor(least.size_mm, b.size_mm) and least.size_mm[2] <= b.size_mm[2] for b in problem.bins):
        return "no_room", "a box that such a bag may go into"
    size = " × ".join(str(side) for side in least.size_mm)
    return "no_box", f"a box with {size} mm free inside"


def _mass(grams: int) -> str:
    """Return a mass as a grower says it: grams below a kilogram.

    >>> _mass(250), _mass(1250), _mass(1_000_000_057)
    ('250 g', '1.25 kg', '1,000,000 kg')
    """
    return f"{grams} g" if grams < 1000 else f"{grams / 1000:,.2f}".rstrip("0").rstrip(".") + " kg"


def _left(problem: Problem, result: Result, line: int) -> bool:
    """Whether the line is short and something of it, not sent under any other item, stayed behind."""
    gone = {placed.item for placed in result.placed}
    pieces = {piece for i in gone for piece in problem.items[i].pieces}
    short = carried(problem, Packing(result.placed, result.boards))[line] < problem.lines[line].wanted
    return short and any(
        item.line == line and i not in gone and item.choices and not pieces.intersection(item.pieces)
        for i, item in enumerate(problem.items)
    )

"""The choice as a whole-number model: which option of which item. Each rule is one function.

Room is kept by volumes, areas and cuts here, each of them true of every packing in three dimensions whatever
the boards; `judging` packs what the model proposes.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from ortools.sat.python import cp_model

from ramet.optimise.dual import plain_area
from ramet.optimise.flats import FlatSet, flat_set, levels, lowest_mm, room_under
from ramet.optimise.floors import Flat
from ramet.optimise.goals import GOALS, MINIMISED, item_value
from ramet.optimise.options import Option, holders, weight
from ramet.optimise.problem import Problem, Rule
from ramet.optimise.solving import Answer
from ramet.optimise.spread import is_must, spread_needed

Expression = cp_model.LinearExpr


@dataclass(slots=True)
class Selection:
    """The model and its variables. `low` and `high` list the options of a box on its floor and on boards."""

    problem: Problem
    options: tuple[Option, ...]
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    take: list[cp_model.IntVar] = field(default_factory=list)
    goes: list[cp_model.IntVar] = field(default_factory=list)
    opened: list[cp_model.IntVar] = field(default_factory=list)
    low: list[list[int]] = field(default_factory=list)
    high: list[list[int]] = field(default_factory=list)
    flats: list[FlatSet] = field(default_factory=list)
    load_g: list[Expression] = field(default_factory=list)
    by_item: list[list[int]] = field(default_factory=list)
    stand_ins: dict[tuple[int, int, Flat, bool], frozenset[int]] = field(default_factory=dict)
    limits: dict[frozenset[int], dict[int, cp_model.IntVar]] = field(default_factory=dict)
    seen: dict[tuple[int, int], FlatSet] = field(default_factory=dict)

    def sum_of(self, chosen: Iterable[int], amount: Callable[[Option], int]) -> Expression:
        """Return the sum of an amount over the options taken out of `chosen`."""
        indices = list(chosen)
        return cp_model.LinearExpr.weighted_sum(
            [self.take[i] for i in indices], [amount(self.options[i]) for i in indices]
        )

    def flat_at(self, b: int, level_mm: int) -> FlatSet:
        """Return the flat set of a box at a level, worked out once."""
        if (b, level_mm) not in self.seen:
            self.seen[b, level_mm] = flat_set(self.problem, self.options, b, level_mm)
        return self.seen[b, level_mm]

    def at_most(self, chosen: frozenset[int], most: int) -> cp_model.IntVar:
        """Return a literal that lets at most so many of these options be taken.

        Every cut that speaks of the same options shares these, so that the solver learns from one for all.
        """
        known = self.limits.setdefault(chosen, {})
        if most not in known:
            literal = known[most] = self.model.new_bool_var("")
            self.model.add(sum(self.take[i] for i in sorted(chosen)) <= most).only_enforce_if(literal)
            for other, its in known.items():
                if other != most:
                    self.model.add_implication(*((literal, its) if most < other else (its, literal)))
        return known[most]


def build(problem: Problem, options: tuple[Option, ...]) -> Selection:
    """Return the model with every rule, without a goal."""
    s = Selection(problem, options)
    _variables(s)
    one_way_each(s)
    no_piece_twice(s)
    no_more_than_wanted(s)
    resources_suffice(s)
    boards_lie_on_bags_that_leave_room(s)
    boxes_bear_their_mass(s)
    floor_bags_carry_the_rest(s)
    boxes_have_the_volume(s)
    planes_have_the_area(s)
    if Rule.SOFT_NEVER_ABOVE in problem.rules:
        soft_never_above(s)
    spread_the_risk(s)
    number_equal_boxes(s)
    number_equal_items(s)
    return s


def _variables(s: Selection) -> None:
    model = s.model
    s.take = [model.new_bool_var(f"t{i}") for i in range(len(s.options))]
    s.goes = [model.new_bool_var(f"g{i}") for i in range(len(s.problem.items))]
    s.by_item = [[] for _ in s.problem.items]
    bins = range(len(s.problem.bins))
    s.low, s.high = [[] for _ in bins], [[] for _ in bins]
    for index, option in enumerate(s.options):
        s.by_item[option.item].append(index)
        (s.high if option.upper else s.low)[option.bin].append(index)
    for b in bins:
        s.opened.append(model.new_bool_var(f"open{b}"))
        s.load_g.append(s.sum_of([*s.low[b], *s.high[b]], lambda o: _borne_g(s.problem, o)))
        s.flats += [s.flat_at(b, level) for level in levels(s.problem, s.options, b)]


def one_way_each(s: Selection) -> None:
    """An item goes in at most one choice of bag, in one box, on one floor; a box with a bag is used."""
    for item, indices in enumerate(s.by_item):
        s.model.add(sum(s.take[i] for i in indices) == s.goes[item])
    for b, is_open in enumerate(s.opened):
        indices = [*s.low[b], *s.high[b]]
        for i in indices:
            s.model.add_implication(s.take[i], is_open)
        s.model.add(sum(s.take[i] for i in indices) >= is_open)


def no_piece_twice(s: Selection) -> None:
    """Two items that share a piece exclude each other."""
    for many in holders(s.problem).values():
        if len(many) > 1:
            s.model.add_at_most_one(s.goes[i] for i in many)


def no_more_than_wanted(s: Selection) -> None:
    """A line gets at most the pieces it asks for."""
    for line, wish in enumerate(s.problem.lines):
        items = [i for i, item in enumerate(s.problem.items) if item.line == line]
        s.model.add(sum(weight(s.problem, i) * s.goes[i] for i in items) <= wish.wanted)


def resources_suffice(s: Selection) -> None:
    """What is scarce (bags of a type, packs, biofilter, supply) is used at most up to its cap."""
    for name in sorted(s.problem.capacities):
        uses = [(i, item.uses[name]) for i, item in enumerate(s.problem.items) if item.uses.get(name)]
        if uses:
            s.model.add(sum(amount * s.goes[i] for i, amount in uses) <= s.problem.capacities[name])


def boards_lie_on_bags_that_leave_room(s: Selection) -> None:
    """What stands on a board has a bag on the floor below that bears and leaves it room under the lid."""
    for b in range(len(s.problem.bins)):
        by_height: dict[int, cp_model.IntVar] = {}
        for i in s.high[b]:
            most = room_under(s.problem, s.options[i])
            if most not in by_height:
                by_height[most] = s.model.new_bool_var(f"bearer{b}_{most}")
                bearers = [k for k in s.low[b] if _bears(s.options[k], most)]
                s.model.add_bool_or([~by_height[most], *(s.take[k] for k in bearers)])
            s.model.add_implication(s.take[i], by_height[most])


def boxes_bear_their_mass(s: Selection) -> None:
    """Bags and board weigh at most what the box may hold."""
    for b, box in enumerate(s.problem.bins):
        s.model.add(s.load_g[b] <= box.max_contents_g)


def floor_bags_carry_the_rest(s: Selection) -> None:
    """All that stands on boards, and the boards, weigh at most what the bags on the floor carry together."""
    for b in range(len(s.problem.bins)):
        if s.high[b]:
            above = s.sum_of(s.high[b], lambda o: _borne_g(s.problem, o))
            bearers = [i for i in s.low[b] if _bears(s.options[i])]
            s.model.add(above <= s.sum_of(bearers, lambda o: o.carries_g))


def boxes_have_the_volume(s: Selection) -> None:
    """Bags, and a board's thickness below each bag on one, take no more room than there is."""
    board = s.problem.board_mm
    for b, box in enumerate(s.problem.bins):
        length, width, height = box.size_mm
        if s.high[b]:
            above = s.sum_of(s.high[b], lambda o: o.area_mm2 * (o.size_mm[2] + board))
            s.model.add(above <= length * width * (height - lowest_mm(s.options, b)))
            below = s.sum_of(s.low[b], lambda o: o.area_mm2 * o.size_mm[2])
            s.model.add(above + below <= length * width * height)


def planes_have_the_area(s: Selection) -> None:
    """Bags of which none can be over another take no more area together than the floor has."""
    for flat in s.flats:
        room = flat.room(plain_area(flat.plane.length, flat.plane.width))
        s.model.add(s.sum_of(flat.members, _area) <= room)


def fullest_floor(s: Selection, model: cp_model.CpModel) -> cp_model.IntVar:
    """Return the share of its area [%] to which the fullest plane is filled (a help for the search)."""
    fullest = model.new_int_var(0, 100, "fullest")
    for flat in s.flats:
        model.add(100 * s.sum_of(flat.members, _area) <= flat.plane.length * flat.plane.width * fullest)
    return fullest


def soft_never_above(s: Selection) -> None:
    """A soft coral's bag never stands above another class: if it stands on a board, on soft bags only."""
    for b in range(len(s.problem.bins)):
        soft = [i for i in s.low[b] if s.problem.items[s.options[i].item].soft and _bears(s.options[i])]
        for i in s.high[b]:
            if s.problem.items[s.options[i].item].soft:
                s.model.add_bool_or([~s.take[i], *(s.take[k] for k in soft)])


def spread_the_risk(s: Selection) -> None:
    """Where two or more boxes are used, not every must, nor every piece of one strain, rides in one box."""
    spread = spread_needed(s.problem)
    if spread.musts:
        musts = [i for i, item in enumerate(s.problem.items) if is_must(s.problem, item)]
        _not_all_in_one(s, musts, "musts")
    for name in sorted(spread.strains):
        _not_all_in_one(s, [i for i, item in enumerate(s.problem.items) if item.strain == name], name)


def _not_all_in_one(s: Selection, items: Sequence[int], name: str) -> None:
    several = s.model.new_bool_var(f"several_{name}")
    pieces = sum(weight(s.problem, i) * s.goes[i] for i in items)
    s.model.add(pieces <= 1).only_enforce_if(~several)
    members = set(items)
    for b in range(len(s.problem.bins)):
        elsewhere = sum(s.take[i] for i, o in enumerate(s.options) if o.item in members and o.bin != b)
        for other in range(len(s.problem.bins)):
            if other != b:
                s.model.add(elsewhere >= 1).only_enforce_if([several, s.opened[other]])


def number_equal_boxes(s: Selection) -> None:
    """Boxes that nothing tells apart are numbered by falling mass (only to save the solver work)."""
    for b in range(1, len(s.problem.bins)):
        if equal_boxes(s.problem, b - 1, b):
            s.model.add(s.load_g[b - 1] >= s.load_g[b])


def number_equal_items(s: Selection) -> None:
    """Items that differ by nothing but their pieces go in the order of their ids."""
    shared = {piece for piece, many in holders(s.problem).items() if len(many) > 1}
    groups: dict[tuple[object, ...], list[int]] = {}
    for index, item in enumerate(s.problem.items):
        if not any(piece in shared for piece in item.pieces):
            uses = tuple(sorted(item.uses.items()))
            key = (item.line, item.strain, item.soft, item.sensitive, item.choices, uses, len(item.pieces))
            groups.setdefault(key, []).append(index)
    for many in groups.values():
        many.sort(key=lambda i: s.problem.items[i].id)
        for one, other in pairwise(many):
            s.model.add_implication(s.goes[other], s.goes[one])


def equal_boxes(problem: Problem, one: int, other: int) -> bool:
    """Return whether nothing but the name tells two boxes apart."""
    a, b = problem.bins[one], problem.bins[other]
    alike = (a.size_mm, a.max_contents_g, a.tare_g, a.billed_floor_g, a.billed_step_g, a.blocked) == (
        b.size_mm, b.max_contents_g, b.tare_g, b.billed_floor_g, b.billed_step_g, b.blocked
    )  # fmt: skip
    return alike and all(
        choice.boxes is None or (one in choice.boxes) == (other in choice.boxes)
        for item in problem.items
        for choice in item.choices
    )


def goal_expression(s: Selection, goal: str) -> Expression:
    """Return the expression of a goal; the two last goals get variables of their own."""
    if goal == MINIMISED:
        return _billed(s)
    if goal == GOALS[-1]:
        return _margin(s)
    rank = GOALS.index(goal)
    items = [i for i, item in enumerate(s.problem.items) if s.problem.lines[item.line].rank == rank]
    return cp_model.LinearExpr.weighted_sum(
        [s.goes[i] for i in items], [item_value(s.problem, i) for i in items]
    )


def taken(s: Selection, answer: Answer) -> list[Option]:
    """Return the options taken in an answer."""
    return [option for option, var in zip(s.options, s.take, strict=True) if answer.solver.value(var)]


def _billed(s: Selection) -> Expression:
    total = s.sum_of([], lambda _: 0)
    for b, box in enumerate(s.problem.bins):
        step = max(1, box.billed_step_g)
        least = -(-max(box.billed_floor_g, box.tare_g) // step)
        most = max(least, -(-(box.tare_g + box.max_contents_g) // step))
        steps = s.model.new_int_var(0, most, f"billed{b}")
        s.model.add(steps >= least * s.opened[b])
        s.model.add(step * steps >= s.load_g[b] + box.tare_g * s.opened[b])
        total += step * steps
    return total


def _margin(s: Selection) -> Expression:
    margins = [option.margin_min for option in s.options]
    if not margins:
        return s.sum_of([], lambda _: 0)
    least, most = min(0, *margins), max(0, *margins)
    smallest = s.model.new_int_var(least, most, "margin")
    for indices in s.by_item:
        s.model.add(smallest <= most + s.sum_of(indices, lambda o: o.margin_min - most))
    s.model.add(smallest <= most * sum(s.goes))
    return smallest


def _area(option: Option) -> int:
    return option.area_mm2


def _bears(option: Option, most_mm: float = math.inf) -> bool:
    """Whether a board may lie on a bag, no higher than this."""
    return option.carries_g > 0 and option.stack_most > 1 and option.under_board_mm <= most_mm


def _borne_g(problem: Problem, option: Option) -> int:
    """What a bag weighs, on a board with the board below it (rounded down: boards are rounded up)."""
    board = option.area_mm2 * problem.board_g_per_m2 // 1_000_000 if option.upper else 0
    return option.mass_g + board

"""The choice as a whole-number model: which option of which item. Each rule is one function.

Floors are kept by areas and cuts here; `packing` decides exactly whether the bags of one floor fit.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from ortools.sat.python import cp_model

from ramet.optimise.dual import plain_area
from ramet.optimise.floors import ground
from ramet.optimise.goals import GOALS, MINIMISED, item_value
from ramet.optimise.options import Option, board_g, board_levels, weight
from ramet.optimise.problem import Problem, Rule
from ramet.optimise.solving import Answer
from ramet.optimise.spread import spread_needed

Expression = cp_model.LinearExpr

Slot = tuple[int, bool]
"""A floor: box index, and whether it is the board."""


@dataclass(slots=True)
class Selection:
    """The model and its variables. `at_least[b][z]`: the board of box b lies at z or higher."""

    problem: Problem
    options: tuple[Option, ...]
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    take: list[cp_model.IntVar] = field(default_factory=list)
    goes: list[cp_model.IntVar] = field(default_factory=list)
    opened: list[cp_model.IntVar] = field(default_factory=list)
    boarded: list[cp_model.IntVar] = field(default_factory=list)
    at_least: list[dict[int, cp_model.IntVar]] = field(default_factory=list)
    load_g: list[Expression] = field(default_factory=list)
    by_item: list[list[int]] = field(default_factory=list)
    by_slot: dict[Slot, list[int]] = field(default_factory=dict)

    def sum_of(self, chosen: Iterable[int], amount: Callable[[Option], int]) -> Expression:
        """Return the sum of an amount over the options taken out of `chosen`."""
        indices = list(chosen)
        return cp_model.LinearExpr.weighted_sum(
            [self.take[i] for i in indices], [amount(self.options[i]) for i in indices]
        )

    def slot(self, b: int, upper: bool) -> list[int]:
        """Return the options of one floor."""
        return self.by_slot.get((b, upper), [])


def build(problem: Problem, options: tuple[Option, ...]) -> Selection:
    """Return the model with every rule, without a goal."""
    s = Selection(problem, options)
    _variables(s)
    one_way_each(s)
    no_piece_twice(s)
    no_more_than_wanted(s)
    resources_suffice(s)
    boards_lie_over_lower_bags(s)
    upper_bags_end_below_the_lid(s)
    boxes_bear_their_mass(s)
    lower_bags_carry_the_board(s)
    floors_have_the_area(s)
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
    for index, option in enumerate(s.options):
        s.by_item[option.item].append(index)
        s.by_slot.setdefault((option.bin, option.upper), []).append(index)
    for b in range(len(s.problem.bins)):
        s.opened.append(model.new_bool_var(f"open{b}"))
        s.boarded.append(model.new_bool_var(f"board{b}"))
        heights = [s.options[i].under_board_mm for i in s.slot(b, False)]
        levels = board_levels(s.problem, b, heights)
        s.at_least.append({z: model.new_bool_var(f"b{b}z{z}") for z in levels})
        s.load_g.append(
            s.sum_of([*s.slot(b, False), *s.slot(b, True)], lambda o: o.mass_g)
            + board_g(s.problem, b) * s.boarded[b]
        )


def one_way_each(s: Selection) -> None:
    """An item goes in at most one choice of bag, in one box, on one floor; a box with a bag is used."""
    for item, indices in enumerate(s.by_item):
        s.model.add(sum(s.take[i] for i in indices) == s.goes[item])
    for b, is_open in enumerate(s.opened):
        indices = [*s.slot(b, False), *s.slot(b, True)]
        for i in indices:
            s.model.add_implication(s.take[i], is_open)
        s.model.add(sum(s.take[i] for i in indices) >= is_open)


def no_piece_twice(s: Selection) -> None:
    """Two items that share a piece exclude each other."""
    holders: dict[str, list[int]] = {}
    for index, item in enumerate(s.problem.items):
        for piece in dict.fromkeys(item.pieces):
            holders.setdefault(piece, []).append(index)
    for many in holders.values():
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


def boards_lie_over_lower_bags(s: Selection) -> None:
    """A board lies at least as high as every bag below it, and through no body; none lies without need."""
    for b, levels in enumerate(s.at_least):
        ladder = list(levels.items())
        for (_, low), (_, high) in pairwise(ladder):
            s.model.add_implication(high, low)
        for _, step in ladder:
            s.model.add_implication(step, s.boarded[b])
        if ladder:
            s.model.add_implication(s.boarded[b], ladder[0][1])
        else:
            s.model.add(s.boarded[b] == 0)
        for i in s.slot(b, False):
            need = next((z for z in levels if z >= s.options[i].under_board_mm), None)
            reached = [] if need is None else [levels[need]]
            s.model.add_bool_or([~s.take[i], ~s.boarded[b], *reached])
        s.model.add(sum(s.take[i] for i in s.slot(b, True)) >= s.boarded[b])


def upper_bags_end_below_the_lid(s: Selection) -> None:
    """Board, board thickness and the bags on it stay inside the box."""
    for b, levels in enumerate(s.at_least):
        height = s.problem.bins[b].size_mm[2]
        for i in s.slot(b, True):
            s.model.add_implication(s.take[i], s.boarded[b])
            most = height - s.problem.board_mm - s.options[i].size_mm[2]
            too_high = next((z for z in levels if z > most), None)
            if too_high is not None:
                s.model.add_implication(s.take[i], ~levels[too_high])


def boxes_bear_their_mass(s: Selection) -> None:
    """Bags and board weigh at most what the box may hold."""
    for b, box in enumerate(s.problem.bins):
        s.model.add(s.load_g[b] <= box.max_contents_g)


def lower_bags_carry_the_board(s: Selection) -> None:
    """Board and upper bags weigh at most what the lower bags carry together."""
    for b in range(len(s.problem.bins)):
        if s.slot(b, True):
            above = s.sum_of(s.slot(b, True), lambda o: o.mass_g) + board_g(s.problem, b) * s.boarded[b]
            s.model.add(above <= s.sum_of(s.slot(b, False), lambda o: o.carries_g))


def floors_have_the_area(s: Selection) -> None:
    """Bags take no more area than a floor has; tall ones none where a board must be lower than they are."""
    for b, box in enumerate(s.problem.bins):
        place = ground(s.problem, b, 0)
        lowest = min((s.options[i].size_mm[2] for i in s.slot(b, False)), default=0)
        bodies = sum(h.rect[2] * h.rect[3] for h in place.hindrances if h.under_mm < lowest)
        room = plain_area(place.length, place.width).room
        s.model.add(s.sum_of(s.slot(b, False), _area) <= room - bodies)
        s.model.add(s.sum_of(s.slot(b, True), _area) <= room * s.boarded[b])
        top = max(s.at_least[b], default=0)
        tallest = [i for i in s.slot(b, False) if s.options[i].under_board_mm > top]
        s.model.add(s.sum_of(tallest, _area) <= (room - bodies) * (1 - s.boarded[b]))
        for z, step in s.at_least[b].items():
            tall = [i for i in s.slot(b, False) if s.options[i].under_board_mm >= z]
            s.model.add(s.sum_of(tall, _area) <= (room - bodies) * (1 - s.boarded[b] + step))
            most = box.size_mm[2] - s.problem.board_mm - z
            high = [i for i in s.slot(b, True) if s.options[i].size_mm[2] > most]
            s.model.add(s.sum_of(high, _area) <= room * (s.boarded[b] - step))


def fullest_floor(s: Selection, model: cp_model.CpModel) -> cp_model.IntVar:
    """Return the share of its area [%] to which the fullest floor is filled (a help for the search)."""
    fullest = model.new_int_var(0, 100, "fullest")
    for (b, _), indices in s.by_slot.items():
        length, width, _ = s.problem.bins[b].size_mm
        model.add(100 * s.sum_of(indices, _area) <= length * width * fullest)
    return fullest


def soft_never_above(s: Selection) -> None:
    """A soft coral's bag never stands above a bag of another class."""
    for b in range(len(s.problem.bins)):
        soft_above = [i for i in s.slot(b, True) if s.problem.items[s.options[i].item].soft]
        others = [i for i in s.slot(b, False) if not s.problem.items[s.options[i].item].soft]
        if not soft_above or not others:
            continue
        any_soft = s.model.new_bool_var(f"soft_above{b}")
        for i in soft_above:
            s.model.add_implication(s.take[i], any_soft)
        for i in others:
            s.model.add_implication(s.take[i], ~any_soft)


def spread_the_risk(s: Selection) -> None:
    """Where two or more boxes are used, not every must, nor every piece of one strain, rides in one box."""
    spread = spread_needed(s.problem)
    if spread.musts:
        musts = [i for i, item in enumerate(s.problem.items) if s.problem.lines[item.line].rank == 0]
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
    shared = _shared_pieces(s.problem)
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


def board_heights(s: Selection, answer: Answer) -> dict[int, int]:
    """Return where the boards lie in an answer."""
    value = answer.solver.value
    return {
        b: max(z for z, step in s.at_least[b].items() if value(step))
        for b, boarded in enumerate(s.boarded)
        if value(boarded)
    }


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
    return option.size_mm[0] * option.size_mm[1]


def _shared_pieces(problem: Problem) -> set[str]:
    seen: set[str] = set()
    shared: set[str] = set()
    for item in problem.items:
        for piece in set(item.pieces):
            (shared if piece in seen else seen).add(piece)
    return shared

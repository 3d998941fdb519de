"""Judges what the selection model proposes: its boxes hold the bags, or say why not, for good."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from ramet.optimise import columns
from ramet.optimise.columns import BoxCut, BoxKind, Prices, box_kinds
from ramet.optimise.cuts import Role, forbid_in_box, forbid_misfit, forbid_overfull, forbid_roles, roles
from ramet.optimise.dual import Area, grid_areas
from ramet.optimise.filling import Filling
from ramet.optimise.flats import (
    SOFT,
    FlatSet,
    all_levels,
    membership,
    plane_kinds,
    side_by_side_mm,
)
from ramet.optimise.floors import Flat, Plane, pack_quickly
from ramet.optimise.frontier import FITS, MISFIT, OPEN, Frontier
from ramet.optimise.goals import GOALS, Packing, item_value, values
from ramet.optimise.hulls import Hull, HullCut, apply, round_price_s, tightened
from ramet.optimise.options import Option, option_standing
from ramet.optimise.packing import Fit, FloorLab
from ramet.optimise.pads import on_pads
from ramet.optimise.problem import Bin, Board, Placed, Problem
from ramet.optimise.scales import sharpest_area
from ramet.optimise.selection import Expression, Selection, taken
from ramet.optimise.solving import Account, Answer
from ramet.optimise.stacking import Filled, even_board, fill_box, floor_of, on_floor

SHARPEN_S = 0.08
"""The fixed price of looking for a sharper area, in deterministic seconds."""
FILL_S = 0.02
"""The fixed price of filling a box by trial."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the model chose; `packing` when every box holds its bags. `boards` of the boxes that do.

    `nearly` has the boxes that hold theirs, and of others all but one bag where that goes.
    """

    chosen: tuple[Option, ...]
    boards: dict[int, tuple[Board, ...]]
    packing: Packing | None
    nearly: Packing


@dataclass(slots=True)
class Judge:
    """Packs boxes and collects what they teach; that holds for every model of the same problem.

    `unsure` is set once a box stayed undecided: the set was ruled out without proof.
    """

    problem: Problem
    account: Account
    unsure: bool = False
    overfull: list[tuple[Area, int, int]] = field(default_factory=list)
    misfits: list[tuple[Plane, list[Flat]]] = field(default_factory=list)
    boxes: list[tuple[Option, ...]] = field(default_factory=list)
    unfillable: list[tuple[Bin, list[Role]]] = field(default_factory=list)
    postponed: list[tuple[Selection, tuple[Option, ...]]] = field(default_factory=list)
    filled: dict[tuple[Option, ...], Filled | None] = field(default_factory=dict)
    lighter: dict[tuple[Option, ...], Filled] = field(default_factory=dict)
    lab: FloorLab = field(init=False)
    frontiers: dict[Plane, Frontier | None] = field(default_factory=dict)
    hulls: dict[Plane, Hull] = field(default_factory=dict)
    hull_cuts: list[HullCut] = field(default_factory=list)
    box_cuts: list[BoxCut] = field(default_factory=list)
    box_kinds: tuple[BoxKind, ...] | None = None
    traded: dict[tuple[Option, ...], None] = field(default_factory=dict)
    fillings: dict[tuple[str, tuple[int, ...]], Filling] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.lab = FloorLab(self.account)

    @property
    def knows_planes(self) -> bool:
        """Whether all is known of every plane that was explored."""
        return bool(self.frontiers) and all(
            one is not None and one.complete for one in self.frontiers.values()
        )

    def explore(
        self, able: Sequence[Option], stop_at_s: float, on_progress: Callable[[], None] = lambda: None
    ) -> None:
        """Learn all there is to know of the planes of these options, where their bags are of few kinds."""
        kinds: dict[Plane, set[Flat]] = {}
        for plane, flat in plane_kinds(self.problem, able):
            kinds.setdefault(plane, set()).add(flat)
        for plane in kinds:
            if plane not in self.frontiers:
                self.frontiers[plane] = Frontier.of(plane, sorted(kinds[plane]))
            frontier = self.frontiers[plane]
            if frontier is not None:
                frontier.explore(self.lab, stop_at_s, on_progress)
                self.hulls[plane] = Hull(frontier)
        if self.lab.table is not None:
            known = {
                plane: one.fitting()
                for plane, one in self.frontiers.items()
                if one is not None and one.complete
            }
            self.lab.table = self.lab.table.knowing(known)

    def tighten(self, s: Selection, expression: Expression, stop_at_s: float) -> float:
        """Add straight cuts to a model; return the bound that they give an expression to be maximised."""
        if not self.hulls:
            return math.inf

        def go_on() -> bool:
            self.account.charge(round_price_s(s))
            return self.account.left_s > 0 and self.account.spent_s < stop_at_s

        bound, cuts = tightened(s, expression, self.hulls, go_on)
        self.hull_cuts += cuts
        for cut in cuts:
            apply(s, cut)
        return bound

    def filling(self, s: Selection, goal: str, packing: Packing) -> Filling | None:
        """Return the search at prices for a goal, earlier ones held at what a packing has; None without one.

        Asked again it goes on where it was.
        """
        table = self.lab.table
        if self.box_kinds is None:
            able = self.knows_planes and table is not None and any(o.upper for o in s.options)
            self.box_kinds = (
                box_kinds(self.problem, s.options, self.frontiers, table) if able and table else ()
            )
        if not self.box_kinds:
            return None
        held = values(self.problem, packing)
        rank = GOALS.index(goal)
        key = goal, held[:rank]
        if key not in self.fillings:
            prices = Prices(self.problem, self.box_kinds, goal, held, self.account.charge)
            self.fillings[key] = Filling(prices, partial(self.hold, s.options), self.account, held[rank])
        return self.fillings[key]

    def show(self, filling: Filling, packing: Packing) -> None:
        """Show a search at prices the best packing so far, and what trading came by."""
        carried = values(self.problem, packing)[GOALS.index(filling.root.goal)]
        filling.worth = max(filling.worth, carried)
        for bags in (*self.traded, *self.keep(packing).values()):
            way = tuple(sorted(bags, key=_order))
            for k, kind in enumerate(filling.root.kinds):
                if way and way[0].bin in kind.bins:
                    first = kind.bins[0]
                    filling.root.known.add(k, tuple(replace(option, bin=first) for option in way))

    def cut(self, s: Selection, filling: Filling) -> None:
        """Add what prices say of each box to a model, and to those to come."""
        self.box_cuts += filling.root.cuts
        for cut in filling.root.cuts:
            columns.apply(s, cut)

    def teach(self, s: Selection) -> None:
        """Give a new model all that is known; what was ruled out without proof is not."""
        self.unsure = False
        self.postponed = []
        for bags in self.boxes:
            forbid_in_box(s, bags)
        for box, wanted in self.unfillable:
            forbid_roles(s, box, wanted)
        for cut in self.hull_cuts:
            apply(s, cut)
        for of_box in self.box_cuts:
            columns.apply(s, of_box)
        for flat in s.flats:
            # Between floor and boards such areas seldom bind and make the model slow: they come when asked.
            top = self.problem.bins[flat.bin].size_mm[2]
            if flat.level_mm in (0, top) and not self._knows(flat.plane):
                for area in grid_areas(flat.plane.length, flat.plane.width, _sides(s)):
                    forbid_overfull(s, flat, area, flat.plane.length, flat.plane.width)
            self._tell(s, flat)

    def judge(self, s: Selection, answer: Answer) -> Proposal:
        """Pack an answer's boxes; what does not fit is forbidden in the model from now on."""
        chosen = tuple(sorted(taken(s, answer), key=_order))
        placed: list[Placed] = []
        boards: dict[int, tuple[Board, ...]] = {}
        fits = True
        for b in range(len(self.problem.bins)):
            here = tuple(o for o in chosen if o.bin == b)
            held = self._held(s, here) if here else Filled((), ())
            if held is None:
                fits = False
                held = self.lighter.get(here) or Filled((), even_board(self.problem, here))
            placed += held.placed
            boards[b] = held.boards
        whole = Packing(
            tuple(sorted(placed, key=lambda p: p.item)), tuple(x for v in boards.values() for x in v)
        )
        return Proposal(chosen, boards, whole if fits else None, whole)

    def _held(self, s: Selection, here: tuple[Option, ...]) -> Filled | None:
        """Fill a box; when that fails, forbid what can't be, or else just this set."""
        if here not in self.filled:
            self.account.charge(FILL_S)
            self.filled[here] = fill_box(self.problem, here, self.account.budget.seed)
        found = self.filled[here]
        if found is None and not self._learn(s, here):
            found = self._decided(s, here)
            self.filled[here] = found
        return found

    def hold(self, options: Sequence[Option], here: tuple[Option, ...]) -> Filled | None:
        """Fill a box with bags in any order, with boards where they need them; None when no way was found."""
        here = tuple(sorted(here, key=_order))
        if here not in self.filled:
            self.filled[here] = self._exactly(options, here)[0] or fill_box(
                self.problem, here, self.account.budget.seed
            )
        return self.filled[here]

    def keep(self, packing: Packing) -> dict[int, frozenset[Option]]:
        """Remember how the boxes of a packing are filled; return the options taken in each."""
        taken_in: dict[int, frozenset[Option]] = {}
        for b in range(len(self.problem.bins)):
            placed = tuple(p for p in packing.placed if p.bin == b)
            here = sorted((option_standing(self.problem, p) for p in placed), key=_order)
            boards = tuple(board for board in packing.boards if board.bin == b)
            self.filled[tuple(here)] = Filled(placed, boards)
            taken_in[b] = frozenset(here)
        return taken_in

    def settle(self) -> bool:
        """Look again, with patience, at what was left open; return whether none of it can be held.

        What turns out to fit is remembered, and what does not is taught to every model from now on.
        """
        self.lab.patient = True
        still_open = [one for one in self.postponed if not self._ruled_out(*one)]
        self.lab.patient = False
        self.postponed = []
        return not still_open

    def _decided(self, s: Selection, here: tuple[Option, ...]) -> Filled | None:
        """Every plane holds its part, or that is open: decide for the whole box, else leave it open."""
        held, proven = self._exactly(s.options, here)
        if held is not None:
            return held
        forbid_in_box(s, here)
        if proven:
            known = len(self.unfillable)
            self._rule_out(s.options, here)
            for box, wanted in self.unfillable[known:]:
                forbid_roles(s, box, wanted)
            self._lighten(s.options, here)
        else:
            self.unsure = True
            self.postponed.append((s, here))
        return None

    def _rule_out(self, options: Sequence[Option], here: tuple[Option, ...]) -> None:
        """Remember that a box can't be filled so, by the fewest of its bags for which that is true."""
        self.boxes.append(here)
        if side_by_side_mm(self.problem, options, here[0].bin):
            return  # with a third layer it takes more than heights to tell which bags on boards clash
        least = list(here)
        for bag in sorted(here, key=lambda o: (o.area_mm2, o.item)):
            rest = [o for o in least if o is not bag]
            if rest and self._fit(options, rest).misfit:
                least = rest
        soft_matters = not self._fit(options, least, soft=False).misfit
        box = self.problem.bins[here[0].bin]
        self.unfillable.append((box, roles(self.problem, least, soft_matters=soft_matters)))

    def _lighten(self, options: Sequence[Option], here: tuple[Option, ...]) -> None:
        """Find a box with one bag less that can be filled, the least worthy that helps."""
        lines = self.problem.lines
        ranks = [
            (-lines[self.problem.items[o.item].line].rank, item_value(self.problem, o.item)) for o in here
        ]
        for k in sorted(range(len(here)), key=lambda k: (ranks[k], here[k].area_mm2)):
            held, _ = self._exactly(options, (*here[:k], *here[k + 1 :]))
            if held is not None:
                self.lighter[here] = held
                return

    def _fit(self, options: Sequence[Option], here: Sequence[Option], *, soft: bool = True) -> Fit:
        """Return where bags stand seen from above, none beside another that it may be over by its height."""
        plane, flats = floor_of(self.problem, here)
        belongs = membership(self.problem, options, here[0].bin)
        groups: list[list[int]] = []
        for level in all_levels(self.problem, here):
            group = [k for k, o in enumerate(here) if belongs(o, level)] if soft or level != SOFT else []
            if group and not any(set(group) <= set(other) for other in groups):
                groups.append(group)
        if len(groups) == 1 and len(groups[0]) == len(here):
            return self.lab.fit(plane, flats)
        return self.lab.fit_apart(plane, flats, groups)

    def _exactly(self, options: Sequence[Option], here: tuple[Option, ...]) -> tuple[Filled | None, bool]:
        """Return the box if the solver fills it; else whether it is proven that nothing does.

        The solver keeps bags beside each other that can't be over each other; boards follow from that.
        """
        fit = self._fit(options, here)
        if fit.rects is None:
            return None, fit.proven
        if not any(o.upper for o in here):
            return on_floor(here, fit.rects), True
        return on_pads(self.problem, here, fit.rects), False

    def _ruled_out(self, s: Selection, here: tuple[Option, ...]) -> bool:
        """Decide about one open box; what fits after all is remembered."""
        options = s.options
        for flat, inside in self._flat_sets(s, here):
            bags = [f for f, i in zip(flat.flats, flat.members, strict=True) if options[i] in inside]
            if self.lab.fit(flat.plane, bags).misfit:
                plane, misfit = self.lab.smallest_misfit(flat.plane, bags, sorted(set(flat.flats)))
                self.misfits.append((plane, misfit))
                return True
        held, proven = self._exactly(options, here)
        if held is None and proven:
            self._rule_out(options, here)
        self.filled[here] = held
        return held is None and proven

    def _flat_sets(self, s: Selection, here: Sequence[Option]) -> list[tuple[FlatSet, frozenset[Option]]]:
        """Return the largest sets of these bags that must be beside each other."""
        wanted = set(here)
        found: list[tuple[FlatSet, frozenset[Option]]] = []
        for level in all_levels(self.problem, here):
            flat = s.flat_at(here[0].bin, level)
            inside = frozenset(s.options[i] for i in flat.members if s.options[i] in wanted)
            if inside and not any(inside <= other for _, other in found):
                found.append((flat, inside))
        return found

    def _learn(self, s: Selection, here: Sequence[Option]) -> bool:
        """Look for planes that the bags overfill; return whether one was found and forbidden."""
        return any(
            self._overfills(
                s, flat, [f for f, i in zip(flat.flats, flat.members, strict=True) if s.options[i] in inside]
            )
            for flat, inside in self._flat_sets(s, here)
        )

    def _overfills(self, s: Selection, flat: FlatSet, bags: list[Flat]) -> bool:
        frontier = self.frontiers.get(flat.plane)
        verdict = OPEN if frontier is None else frontier.verdict(bags)
        if verdict == MISFIT:
            if flat in s.flats:  # what is known of it was too many kinds to be said widely
                forbid_misfit(s, flat, flat.plane, bags)
            self._add(s, flat)
            return True
        if verdict == FITS or pack_quickly(flat.plane, bags) is not None:
            return False
        self.account.charge(SHARPEN_S)
        size = (flat.plane.length, flat.plane.width)
        standing = [flat.plane.bodies[k] for k in flat.bodies]
        area = sharpest_area(size, bags, standing, _sides(s))
        if area is not None:
            self.overfull.append((area, *size))
            self._add(s, flat)
            for each in s.flats:
                forbid_overfull(s, each, area, *size)
            return True
        if not self.lab.fit(flat.plane, bags).misfit:
            return False
        plane, misfit = self.lab.smallest_misfit(flat.plane, bags, sorted(set(flat.flats)))
        self.misfits.append((plane, misfit))
        self._add(s, flat)
        for each in s.flats:
            forbid_misfit(s, each, plane, misfit)
        return True

    def _knows(self, plane: Plane) -> bool:
        frontier = self.frontiers.get(plane)
        return frontier is not None and frontier.complete

    def _add(self, s: Selection, flat: FlatSet) -> None:
        """Keep a plane in mind from now on, and tell it what is known."""
        if flat not in s.flats:
            s.flats.append(flat)
            self._tell(s, flat)

    def _tell(self, s: Selection, flat: FlatSet) -> None:
        for area, length, width in self.overfull:
            forbid_overfull(s, flat, area, length, width)
        for plane, misfit in self.misfits:
            forbid_misfit(s, flat, plane, misfit)
        known = self.frontiers.get(flat.plane)
        for bags in known.misfits if known is not None else ():
            forbid_misfit(s, flat, flat.plane, bags)


def _order(o: Option) -> tuple[int, int, int, bool, int]:
    return o.item, o.choice, o.bin, o.upper, o.top_mm


def _sides(s: Selection) -> list[int]:
    return sorted({side for o in s.options for side in o.size_mm[:2]})

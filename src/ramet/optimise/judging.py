"""Judges what the selection model proposes: its boxes hold the bags, or say why not, for good."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ramet.optimise.cuts import forbid_in_box, forbid_misfit, forbid_overfull
from ramet.optimise.dual import Area, grid_areas
from ramet.optimise.flats import SOFT, FlatSet, body_mask, flat_set
from ramet.optimise.floors import Flat, Plane, pack_quickly
from ramet.optimise.goals import Packing
from ramet.optimise.options import Option
from ramet.optimise.packing import FloorLab, fit_exactly
from ramet.optimise.pads import on_pads
from ramet.optimise.problem import Board, Placed, Problem, Rule
from ramet.optimise.scales import sharpest_area
from ramet.optimise.selection import Selection, taken
from ramet.optimise.solving import Account, Answer
from ramet.optimise.stacking import Filled, even_board, fill_box, floor_of, on_floor

SHARPEN_S = 0.08
"""The fixed price of looking for a sharper area, in deterministic seconds."""
FILL_S = 0.02
"""The fixed price of filling a box by trial."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the model chose; `packing` when every box holds its bags. `boards` of the boxes that do."""

    chosen: tuple[Option, ...]
    boards: dict[int, tuple[Board, ...]]
    packing: Packing | None


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
    postponed: list[tuple[tuple[Option, ...], tuple[Option, ...]]] = field(default_factory=list)
    filled: dict[tuple[Option, ...], Filled | None] = field(default_factory=dict)
    lab: FloorLab = field(init=False)

    def __post_init__(self) -> None:
        self.lab = FloorLab(self.account)

    def teach(self, s: Selection) -> None:
        """Give a new model all that is known; what was ruled out without proof is not."""
        self.unsure = False
        self.postponed = []
        for bags in self.boxes:
            forbid_in_box(s, bags)
        for flat in s.flats:
            # Between floor and boards such areas seldom bind and make the model slow: they come when asked.
            if flat.level_mm in (0, self.problem.bins[flat.bin].size_mm[2]):
                for area in grid_areas(flat.plane.length, flat.plane.width, _sides(s)):
                    forbid_overfull(s, flat, area, flat.plane.length, flat.plane.width)
            self._tell(s, flat)

    def judge(self, s: Selection, answer: Answer) -> Proposal:
        """Pack an answer's boxes; what does not fit is forbidden in the model from now on."""
        chosen = tuple(taken(s, answer))
        placed: list[Placed] = []
        boards: dict[int, tuple[Board, ...]] = {}
        fits = True
        for b in range(len(self.problem.bins)):
            here = tuple(o for o in chosen if o.bin == b)
            held = self._held(s, here) if here else Filled((), ())
            if held is None:
                fits = False
                boards[b] = even_board(self.problem, here)
                continue
            placed += held.placed
            boards[b] = held.boards
        whole = Packing(
            tuple(sorted(placed, key=lambda p: p.item)), tuple(x for v in boards.values() for x in v)
        )
        return Proposal(chosen, boards, whole if fits else None)

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
            self.boxes.append(here)
        else:
            self.unsure = True
            self.postponed.append((s.options, here))
        return None

    def _exactly(self, options: Sequence[Option], here: tuple[Option, ...]) -> tuple[Filled | None, bool]:
        """Return the box if the solver fills it; else whether it is proven that nothing does.

        The solver keeps bags beside each other that can't be over each other; boards follow from that.
        """
        flat_sets = self._flat_sets(options, here)
        plane, flats = floor_of(self.problem, here)
        if len(flat_sets) == 1:
            fit = self.lab.fit(plane, flats)
            return (None if fit.rects is None else on_floor(here, fit.rects)), fit.proven
        box = self.problem.bins[here[0].bin]
        lowest = min((o.under_board_mm for o in here if not o.upper), default=0) + self.problem.board_mm
        bags = [(*o.size_mm[:2], body_mask(box, o, lowest)) for o in here]
        groups = [[k for k, o in enumerate(here) if o in inside] for _, inside in flat_sets]
        fit = fit_exactly(plane, bags, self.account, self.lab.limit_s, groups)
        if fit.rects is None:
            return None, fit.proven
        return on_pads(self.problem, here, fit.rects), False

    def _ruled_out(self, options: Sequence[Option], here: tuple[Option, ...]) -> bool:
        """Decide about one open box; what fits after all is remembered."""
        for flat, inside in self._flat_sets(options, here):
            bags = [f for f, i in zip(flat.flats, flat.members, strict=True) if options[i] in inside]
            fit = self.lab.fit(flat.plane, bags)
            if fit.rects is None and fit.proven:
                plane, misfit = self.lab.smallest_misfit(flat.plane, bags, sorted(set(flat.flats)))
                self.misfits.append((plane, misfit))
                return True
        held, proven = self._exactly(options, here)
        if proven:
            self.boxes.append(here)
        self.filled[here] = held
        return proven

    def _flat_sets(
        self, options: Sequence[Option], here: Sequence[Option]
    ) -> list[tuple[FlatSet, frozenset[Option]]]:
        """Return the largest sets of these bags that must be beside each other."""
        wanted = set(here)
        found: list[tuple[FlatSet, frozenset[Option]]] = []
        for level in _levels_of(self.problem, here):
            flat = flat_set(self.problem, options, here[0].bin, level)
            inside = frozenset(options[i] for i in flat.members if options[i] in wanted)
            if inside and not any(inside <= other for _, other in found):
                found.append((flat, inside))
        return found

    def _learn(self, s: Selection, here: Sequence[Option]) -> bool:
        """Look for planes that the bags overfill; return whether one was found and forbidden."""
        return any(
            self._overfills(
                s, flat, [f for f, i in zip(flat.flats, flat.members, strict=True) if s.options[i] in inside]
            )
            for flat, inside in self._flat_sets(s.options, here)
        )

    def _overfills(self, s: Selection, flat: FlatSet, bags: list[Flat]) -> bool:
        if pack_quickly(flat.plane, bags) is not None:
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
        fit = self.lab.fit(flat.plane, bags)
        if fit.rects is not None:
            return False
        if not fit.proven:
            return False
        plane, misfit = self.lab.smallest_misfit(flat.plane, bags, sorted(set(flat.flats)))
        self.misfits.append((plane, misfit))
        self._add(s, flat)
        for each in s.flats:
            forbid_misfit(s, each, plane, misfit)
        return True

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


def _sides(s: Selection) -> list[int]:
    return sorted({side for o in s.options for side in o.size_mm[:2]})


def _levels_of(problem: Problem, here: Sequence[Option]) -> list[int]:
    """Return the levels at which the sets of this box change: floor, boards, then from the tallest."""
    if not any(o.upper for o in here):
        return [0]
    tall = sorted({o.under_board_mm for o in here if not o.upper}, reverse=True)
    soft = [SOFT] if Rule.SOFT_NEVER_ABOVE in problem.rules else []
    return [0, problem.bins[here[0].bin].size_mm[2], *soft, *tall]

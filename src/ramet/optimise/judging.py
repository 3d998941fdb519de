"""Judges what the selection model proposes: its boxes hold the bags, or say why not, for good."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ramet.optimise.cuts import forbid_in_box, forbid_misfit, forbid_overfull
from ramet.optimise.dual import Area, grid_areas
from ramet.optimise.flats import SOFT, FlatSet, flat_set
from ramet.optimise.floors import Flat, Plane, pack_quickly
from ramet.optimise.goals import Packing
from ramet.optimise.options import Option
from ramet.optimise.packing import FloorLab
from ramet.optimise.problem import Board, Placed, Problem, Rule
from ramet.optimise.scales import sharpest_area
from ramet.optimise.selection import Selection, taken
from ramet.optimise.solving import Account, Answer
from ramet.optimise.stacking import Filled, even_board, fill_box

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
    filled: dict[tuple[Option, ...], Filled | None] = field(default_factory=dict)
    lab: FloorLab = field(init=False)

    def __post_init__(self) -> None:
        self.lab = FloorLab(self.account)

    def teach(self, s: Selection) -> None:
        """Give a new model all that is known; what was ruled out without proof is not."""
        self.unsure = False
        for flat in s.flats:
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

    def _decided(self, s: Selection, here: tuple[Option, ...]) -> Filled | None:
        """Every plane holds its part, but no filling was found."""
        self.unsure = True
        forbid_in_box(s, here)
        return None

    def _learn(self, s: Selection, here: Sequence[Option]) -> bool:
        """Look for planes that the bags overfill; return whether one was found and forbidden."""
        b = here[0].bin
        wanted = set(here)
        seen: set[frozenset[int]] = set()
        for level in _levels_of(self.problem, here):
            flat = flat_set(self.problem, s.options, b, level)
            inside = [k for k, i in enumerate(flat.members) if s.options[i] in wanted]
            members = frozenset(flat.members[k] for k in inside)
            if any(members <= other for other in seen):
                continue
            seen.add(members)
            if self._overfills(s, flat, [flat.flats[k] for k in inside]):
                return True
        return False

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

"""Judges what the selection model proposes: its floors hold the bags, or say why not, for good."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ramet.optimise.cuts import forbid_misfit, forbid_overfull, standing_bodies
from ramet.optimise.dual import Area, grid_areas
from ramet.optimise.floors import Ground, Rect, ground, pack_quickly
from ramet.optimise.goals import Packing
from ramet.optimise.options import Option, board_levels
from ramet.optimise.packing import FloorLab, Size
from ramet.optimise.problem import Board, Placed, Problem
from ramet.optimise.scales import sharpest_area
from ramet.optimise.selection import Selection, board_heights, taken
from ramet.optimise.solving import Account, Answer

SHARPEN_S = 0.08
"""The fixed price of looking for a sharper area, in deterministic seconds."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the model chose, with boards lowered; `packing` when every floor holds its bags."""

    chosen: tuple[Option, ...]
    boards: dict[int, int]
    packing: Packing | None


@dataclass(slots=True)
class Judge:
    """Packs floors and collects what they teach; that holds for every model of the same problem.

    `unsure` is set once a floor stayed undecided: the set was ruled out without proof.
    """

    problem: Problem
    account: Account
    unsure: bool = False
    overfull: list[tuple[Area, int, int]] = field(default_factory=list)
    misfits: list[tuple[Ground, list[Size]]] = field(default_factory=list)
    lab: FloorLab = field(init=False)

    def __post_init__(self) -> None:
        self.lab = FloorLab(self.account)

    def teach(self, s: Selection) -> None:
        """Give a new model all that is known; what was ruled out without proof is not."""
        self.unsure = False
        for box in dict.fromkeys(bin.size_mm[:2] for bin in self.problem.bins):
            for area in grid_areas(*box, _sides(s)):
                forbid_overfull(s, area, *box)
        for area, length, width in self.overfull:
            forbid_overfull(s, area, length, width)
        for place, misfit in self.misfits:
            forbid_misfit(s, place, misfit)

    def judge(self, s: Selection, answer: Answer) -> Proposal:
        """Pack an answer's floors; what does not fit is forbidden in the model from now on."""
        chosen = tuple(taken(s, answer))
        boards = lowest_boards(self.problem, chosen, board_heights(s, answer))
        rects: dict[int, Rect] = {}
        fits = True
        for b in range(len(self.problem.bins)):
            for upper in (False, True):
                here = [o for o in chosen if (o.bin, o.upper) == (b, upper)]
                if here and not self._holds(s, here, boards, rects):
                    fits = False
        packing = _assembled(self.problem, chosen, boards, rects) if fits else None
        return Proposal(chosen, boards, packing)

    def _holds(
        self, s: Selection, here: list[Option], boards: dict[int, int], rects: dict[int, Rect]
    ) -> bool:
        b, upper = here[0].bin, here[0].upper
        place = ground(self.problem, b, boards[b] + self.problem.board_mm if upper else 0)
        bags = [o.size_mm for o in here]
        quick = pack_quickly(place, bags)
        if quick is not None:
            rects.update({o.item: rect for o, rect in zip(here, quick, strict=True)})
            return True
        bodies = [] if upper else standing_bodies(s, b)
        self.account.charge(SHARPEN_S)
        area = sharpest_area((place.length, place.width), bags, bodies, _sides(s))
        if area is not None:
            self.overfull.append((area, place.length, place.width))
            forbid_overfull(s, area, place.length, place.width)
            return False
        fit = self.lab.fit(place, bags)
        if fit.rects is not None:
            rects.update({o.item: rect for o, rect in zip(here, fit.rects, strict=True)})
            return True
        if fit.proven:
            place, bags = self.lab.smallest_misfit(place, bags)
            self.misfits.append((place, bags))
        else:
            self.unsure = True
        forbid_misfit(s, place, bags)
        return False


def _sides(s: Selection) -> list[int]:
    return sorted({side for o in s.options for side in o.size_mm[:2]})


def lowest_boards(problem: Problem, chosen: Sequence[Option], boards: dict[int, int]) -> dict[int, int]:
    """Return the boards lowered onto what is below them, past no body."""
    lowered = {}
    for b, z in boards.items():
        needs = [o.under_board_mm for o in chosen if o.bin == b and not o.upper]
        tops = [body.at_mm[2] + body.size_mm[2] for body in problem.bins[b].blocked]
        least = max([*needs, *(top for top in tops if top <= z)], default=z)
        lowered[b] = min((level for level in board_levels(problem, b, needs) if level >= least), default=z)
    return lowered


def _assembled(
    problem: Problem, chosen: Sequence[Option], boards: dict[int, int], rects: dict[int, Rect]
) -> Packing:
    placed = []
    for o in sorted(chosen, key=lambda o: o.item):
        x, y, length, width = rects[o.item]
        z = boards[o.bin] + problem.board_mm if o.upper else 0
        placed.append(Placed(o.item, o.choice, o.bin, (x, y, z), (length, width, o.size_mm[2])))
    return Packing(tuple(placed), tuple(Board(b, z) for b, z in sorted(boards.items())))

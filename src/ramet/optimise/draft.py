"""A packing under construction: puts one bag in at a time and keeps every rule at each step."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ramet.optimise.floors import Floor, Rect, ground
from ramet.optimise.goals import Packing
from ramet.optimise.options import Option, board_g, weight
from ramet.optimise.problem import Board, Placed, Problem, Rule
from ramet.optimise.spread import Spread


@dataclass(slots=True)
class BoxDraft:
    """What one box holds so far. `upper` is None when no board is planned."""

    lower: Floor
    upper: Floor | None
    board_z: int | None
    lower_g: int = 0
    upper_g: int = 0
    carries_g: int = 0
    soft_above: bool = False
    others_below: bool = False


@dataclass(slots=True)
class Draft:
    """A packing under construction, with boards at given heights."""

    problem: Problem
    boards: Mapping[int, int]
    spread: Spread
    boxes: list[BoxDraft] = field(init=False)
    taken: dict[int, tuple[Option, Rect]] = field(default_factory=dict)
    pieces: set[str] = field(default_factory=set)
    lines: Counter[int] = field(default_factory=Counter)
    used: Counter[str] = field(default_factory=Counter)
    strain_at: dict[str, set[int]] = field(default_factory=dict)
    musts_at: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.boxes = []
        for b in range(len(self.problem.bins)):
            z = self.boards.get(b)
            upper = None
            if z is not None:
                upper = Floor.empty(ground(self.problem, b, z + self.problem.board_mm))
            self.boxes.append(BoxDraft(Floor.empty(ground(self.problem, b, 0)), upper, z))

    def may_go(self, item: int) -> bool:
        """Return whether the item is still free: pieces, line and resources."""
        thing = self.problem.items[item]
        if item in self.taken or any(piece in self.pieces for piece in thing.pieces):
            return False
        if self.lines[thing.line] + weight(self.problem, item) > self.problem.lines[thing.line].wanted:
            return False
        caps = self.problem.capacities
        return all(
            self.used[name] + amount <= caps[name] for name, amount in thing.uses.items() if name in caps
        )

    def spot(self, option: Option) -> tuple[int, Rect] | None:
        """Return where the option fits with its slack, or None when a rule or the room forbids it."""
        box = self.boxes[option.bin]
        if not self._rules_allow(option, box):
            return None
        floor = box.upper if option.upper else box.lower
        if floor is None:
            return None
        if (
            option.upper
            and floor.ground.base_mm + option.size_mm[2] > self.problem.bins[option.bin].size_mm[2]
        ):
            return None
        return floor.find((option.size_mm[0], option.size_mm[1]), option.size_mm[2])

    def put(self, option: Option, rect: Rect) -> None:
        """Place an option that `may_go` and has a `spot`."""
        item = self.problem.items[option.item]
        box = self.boxes[option.bin]
        floor = box.upper if option.upper else box.lower
        assert floor is not None
        floor.take(rect)
        self.taken[option.item] = (option, rect)
        self.pieces.update(item.pieces)
        self.lines[item.line] += weight(self.problem, option.item)
        self.used.update(item.uses)
        self.strain_at.setdefault(item.strain, set()).add(option.bin)
        if self.problem.lines[item.line].rank == 0:
            self.musts_at.add(option.bin)
        if option.upper:
            box.upper_g += option.mass_g
            box.soft_above |= item.soft
        else:
            box.lower_g += option.mass_g
            box.carries_g += option.carries_g
            box.others_below |= not item.soft

    def insert(self, choices: Sequence[Option]) -> bool:
        """Put the first of the options that has a spot; options are all of one item."""
        for option in choices:
            found = self.spot(option)
            if found is not None:
                self.put(option, found[1])
                return True
        return False

    def packing(self) -> Packing:
        """Return what stands, with boards only where something rests on them."""
        boards = {
            b: z
            for b, z in sorted(self.boards.items())
            if any(o.upper and o.bin == b for o, _ in self.taken.values())
        }
        placed = []
        for item, (option, rect) in sorted(self.taken.items()):
            z = boards[option.bin] + self.problem.board_mm if option.upper else 0
            size = (rect[2], rect[3], option.size_mm[2])
            placed.append(Placed(item, option.choice, option.bin, (rect[0], rect[1], z), size))
        return Packing(tuple(placed), tuple(Board(b, z) for b, z in boards.items()))

    def _rules_allow(self, option: Option, box: BoxDraft) -> bool:
        problem, item = self.problem, self.problem.items[option.item]
        upper_g = box.upper_g + (option.mass_g if option.upper else 0)
        board = board_g(problem, option.bin) if upper_g else 0
        lower_g = box.lower_g + (0 if option.upper else option.mass_g)
        if upper_g + board + lower_g > problem.bins[option.bin].max_contents_g:
            return False
        if option.upper:
            if box.board_z is None or upper_g + board > box.carries_g:
                return False
            if Rule.SOFT_NEVER_ABOVE in problem.rules and item.soft and box.others_below:
                return False
        else:
            if box.board_z is not None and option.under_board_mm > box.board_z:
                return False
            if Rule.SOFT_NEVER_ABOVE in problem.rules and not item.soft and box.soft_above:
                return False
        return self._spreads(option)

    def _spreads(self, option: Option) -> bool:
        """The second must, and the second piece of a strain, go to another box than the first.

        So several in one bag wait until another of theirs stands elsewhere.
        """
        item, here = self.problem.items[option.item], {option.bin}
        lonely: tuple[set[int], ...] = (here, set()) if len(item.pieces) > 1 else (here,)
        if item.strain in self.spread.strains and self.strain_at.get(item.strain, set()) in lonely:
            return False
        must = self.problem.lines[item.line].rank == 0
        return not (must and self.spread.musts and self.musts_at in lonely)

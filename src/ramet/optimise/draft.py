"""A packing under construction: puts one bag in at a time and keeps every rule at each step."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from ramet.optimise.goals import Packing
from ramet.optimise.options import Option, weight
from ramet.optimise.problem import Board, Placed, Problem, Rect, Rule
from ramet.optimise.spread import Spread, is_must
from ramet.optimise.surfaces import Surface, board_mass_g, shared_mm2, surfaces

LEAST_G = 1e-6
"""Less than this is what sums of shares round off."""

Boards = Mapping[int, Sequence[Board]]
"""Planned boards by box."""


@dataclass(slots=True)
class Stand:
    """A bag in its place: on which surface of its box, and which surfaces (boards) it helps to bear."""

    option: Option
    rect: Rect
    surface: int
    bears: tuple[int, ...]


@dataclass(slots=True)
class BoxDraft:
    """What one box holds so far. Surface 0 is the floor, the others are boards from below."""

    surfaces: list[Surface]
    stands: list[Stand] = field(default_factory=list)
    mass_g: int = 0

    def on(self, surface: int) -> list[Stand]:
        """Return what stands on a surface."""
        return [one for one in self.stands if one.surface == surface]

    def copy(self) -> "BoxDraft":
        """Return a box that can be filled on without touching this one."""
        return BoxDraft([surface.copy() for surface in self.surfaces], list(self.stands), self.mass_g)


@dataclass(slots=True)
class Draft:
    """A packing under construction, with boards at given places."""

    problem: Problem
    spread: Spread
    boxes: list[BoxDraft] = field(default_factory=list)
    taken: set[int] = field(default_factory=set)
    pieces: set[str] = field(default_factory=set)
    lines: Counter[int] = field(default_factory=Counter)
    used: Counter[str] = field(default_factory=Counter)
    strain_at: dict[str, set[int]] = field(default_factory=dict)
    musts_at: set[int] = field(default_factory=set)

    @classmethod
    def empty(cls, problem: Problem, boards: Boards, spread: Spread) -> "Draft":
        """Return empty boxes with boards planned in them."""
        bins = range(len(problem.bins))
        return cls(problem, spread, [BoxDraft(surfaces(problem, b, boards.get(b, ()))) for b in bins])

    def reopened(self, emptied: Mapping[int, Sequence[Board]]) -> "Draft":
        """Return a draft with the same boxes but some emptied, with new boards planned in those."""
        fresh = Draft(self.problem, self.spread)
        for b, box in enumerate(self.boxes):
            if b in emptied:
                fresh.boxes.append(BoxDraft(surfaces(self.problem, b, emptied[b])))
            else:
                fresh.boxes.append(box.copy())
                for stand in box.stands:
                    fresh._enter(stand.option)
        return fresh

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

    def spot(self, option: Option) -> Stand | None:
        """Return where the option fits, or None when a rule or the room forbids it."""
        box = self.boxes[option.bin]
        if not self._spreads(option):
            return None
        for number in range(1, len(box.surfaces)) if option.upper else (0,):
            rect = box.surfaces[number].find(option, without=self._kept_off(option, box, number))
            if rect is not None:
                stand = Stand(option, rect, number, bears(box, option, rect, number))
                if self.is_borne(box, stand):
                    return stand
        return None

    def put(self, stand: Stand) -> None:
        """Place an option that `may_go` at the spot found for it."""
        option = stand.option
        box = self.boxes[option.bin]
        box.surfaces[stand.surface].free.take(stand.rect)
        if stand.surface and not box.on(stand.surface):
            box.mass_g += self._board_g(box, stand.surface)
        box.stands.append(stand)
        box.mass_g += option.mass_g
        self._enter(option)

    def _enter(self, option: Option) -> None:
        item = self.problem.items[option.item]
        self.taken.add(option.item)
        self.pieces.update(item.pieces)
        self.lines[item.line] += weight(self.problem, option.item)
        self.used.update(item.uses)
        self.strain_at.setdefault(item.strain, set()).add(option.bin)
        if is_must(self.problem, item):
            self.musts_at.add(option.bin)

    def insert(self, choices: Sequence[Option]) -> bool:
        """Put the first of the options that has a spot; options are all of one item."""
        for option in choices:
            stand = self.spot(option)
            if stand is not None:
                self.put(stand)
                return True
        return False

    def stand(self, option: Option, placed: Placed) -> bool:
        """Put a bag in just the place it had; False, and nothing done, when it can't stand there."""
        box = self.boxes[option.bin]
        rect = (*placed.at_mm[:2], *placed.size_mm[:2])
        for number, surface in enumerate(box.surfaces):
            if surface.base_mm == placed.at_mm[2] and surface.has_free(option, rect):
                stand = Stand(option, rect, number, bears(box, option, rect, number))
                if self.may_go(option.item) and self.is_borne(box, stand) and not self.keeps_off(stand):
                    self.put(stand)
                    return True
        return False

    def keeps_off(self, new: Stand) -> bool:
        """Tell whether a bag may not stand there for what is above or below it."""
        box = self.boxes[new.option.bin]
        return any(shared_mm2(new.rect, rect) for rect in self._kept_off(new.option, box, new.surface))

    def is_borne(self, box: BoxDraft, new: Stand) -> bool:
        """Tell whether the box bears its mass, and bags below the boards bear theirs, with one bag more."""
        b = new.option.bin
        first = bool(new.surface) and not box.on(new.surface)
        mass = box.mass_g + new.option.mass_g + (self._board_g(box, new.surface) if first else 0)
        if mass > self.problem.bins[b].max_contents_g:
            return False
        return new.surface == 0 or self._boards_hold(box, [*box.stands, new])

    def packing(self) -> Packing:
        """Return what stands, with boards only where something rests on them."""
        placed, boards = [], []
        for b, box in enumerate(self.boxes):
            for number, surface in enumerate(box.surfaces):
                here = box.on(number)
                if here and surface.board is not None:
                    boards.append(surface.board)
                for one in here:
                    x, y, length, width = one.rect
                    size = (length, width, one.option.size_mm[2])
                    at = (x, y, surface.base_mm)
                    placed.append(Placed(one.option.item, one.option.choice, b, at, size))
        return Packing(tuple(sorted(placed, key=lambda p: p.item)), tuple(boards))

    def _boards_hold(self, box: BoxDraft, stands: Sequence[Stand]) -> bool:
        """Tell whether each board, its bags and its share of what stands higher is carried from below.

        From the top down each board leans on bags that bear it alone before those that bear others too, on
        each by what it can still carry.
        """
        load = [0.0] * len(box.surfaces)
        left: dict[int, float] = {}
        bearers: dict[int, list[int]] = {}
        for k, one in enumerate(stands):
            load[one.surface] += one.option.mass_g
            for number in one.bears:
                bearers.setdefault(number, []).append(k)
                left[k] = one.option.carries_g
        for number in range(len(box.surfaces) - 1, 0, -1):
            if load[number] == 0:
                continue
            rest = load[number] = load[number] + self._board_g(box, number)
            for alone in (True, False):
                leaned = [k for k in bearers.get(number, ()) if (len(stands[k].bears) == 1) == alone]
                able = sum(left[k] for k in leaned)
                part = min(rest, able)
                for k in leaned if part else ():
                    share = part * left[k] / able
                    left[k] -= share
                    load[stands[k].surface] += share
                rest -= part
            if rest > LEAST_G:
                return False
        return True

    def _board_g(self, box: BoxDraft, number: int) -> int:
        board = box.surfaces[number].board
        return 0 if board is None else board_mass_g(self.problem, board)

    def _kept_off(self, option: Option, box: BoxDraft, number: int) -> list[Rect]:
        """Return where a bag may not stand since a soft coral would then be above another class.

        A board spreads what leaks: a soft bag keeps off a board with others anywhere below it.
        """
        if Rule.SOFT_NEVER_ABOVE not in self.problem.rules:
            return []
        soft = self.problem.items[option.item].soft
        own = box.surfaces[number]
        if soft and number:
            below = [one.rect for one in self._of_class(box, soft=False) if one.surface < number]
            return [own.rect] if any(shared_mm2(rect, own.rect) for rect in below) else []
        if soft:
            return []
        above = {one.surface for one in self._of_class(box, soft=True) if one.surface > number}
        return [box.surfaces[k].rect for k in sorted(above)]

    def _of_class(self, box: BoxDraft, *, soft: bool) -> list[Stand]:
        return [one for one in box.stands if self.problem.items[one.option.item].soft == soft]

    def _spreads(self, option: Option) -> bool:
        """The second must, and the second piece of a strain, go to another box than the first.

        So several in one bag wait until another of theirs stands elsewhere.
        """
        item, here = self.problem.items[option.item], {option.bin}
        lonely: tuple[set[int], ...] = (here, set()) if len(item.pieces) > 1 else (here,)
        if item.strain in self.spread.strains and self.strain_at.get(item.strain, set()) in lonely:
            return False
        must = is_must(self.problem, item)
        return not (must and self.spread.musts and self.musts_at in lonely)


def bears(box: BoxDraft, option: Option, rect: Rect, number: int) -> tuple[int, ...]:
    """Return the boards that a bag helps to bear: those over it with no other board between."""
    if option.carries_g <= 0:
        return ()
    top = box.surfaces[number].base_mm + option.size_mm[2]
    over = [
        k
        for k, surface in enumerate(box.surfaces)
        if surface.board is not None and surface.board.z_mm >= top and shared_mm2(rect, surface.rect)
    ]
    return tuple(k for k in over if not _shaded(box, k, over))


def _shaded(box: BoxDraft, number: int, over: Sequence[int]) -> bool:
    """Tell whether another board lies between a bag and this one."""
    own = box.surfaces[number]
    return any(
        box.surfaces[k].base_mm < own.base_mm and shared_mm2(box.surfaces[k].rect, own.rect) for k in over
    )

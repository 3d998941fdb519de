"""Where bags may stand in one box: on its floor or on a board, under bodies and other boards.

A box with boards at several heights over parts of its floor is a few flat surfaces. A tall bag keeps clear of
boards lower than itself, a low one may stand under them: so bags of mixed heights fill a box in all three
directions while each surface stays a plane problem.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ramet.optimise.floors import Free, carved, tightest
from ramet.optimise.options import Option
from ramet.optimise.problem import Board, Problem, Rect


@dataclass(frozen=True, slots=True)
class Over:
    """A body or board over a surface. `level` counts boards: 1 the lowest here; 0 is a body."""

    rect: Rect
    under_mm: int
    level: int

    def hinders(self, option: Option) -> bool:
        """Tell whether a bag may not stand below: too high, or one too many would stand above it."""
        if self.level == 0:
            return option.size_mm[2] > self.under_mm
        return option.under_board_mm > self.under_mm or option.stack_most <= self.level


@dataclass(slots=True)
class Surface:
    """A floor (`board` None) or the top of a board, being filled. Rectangles are in the box's plane."""

    rect: Rect
    base_mm: int
    room_mm: int
    over: tuple[Over, ...]
    board: Board | None = None
    free: Free = field(init=False)

    def __post_init__(self) -> None:
        self.free = Free(self.rect, tuple(over.rect for over in self.over))

    def copy(self) -> "Surface":
        """Return a surface that can be filled on without touching this one."""
        twin = Surface(self.rect, self.base_mm, self.room_mm, self.over, self.board)
        twin.free = Free(self.rect, self.free.bodies, list(self.free.taken), dict(self.free.by_mask))
        return twin

    def find(self, option: Option, low: bool = False, without: Sequence[Rect] = ()) -> Rect | None:
        """Return the tightest (or lowest) free corner for a bag, straight or turned, clear of `without`."""
        length, width, height = option.size_mm
        if height > self.room_mm:
            return None
        rects = self.free.rects(self._mask(option))
        for rect in without:
            rects = carved(rects, rect)
        return tightest(rects, length, width, low)

    def has_free(self, option: Option, rect: Rect) -> bool:
        """Tell whether a bag may stand on just this rectangle."""
        return option.size_mm[2] <= self.room_mm and any(
            x <= rect[0] and y <= rect[1] and rect[0] + rect[2] <= x + long and rect[1] + rect[3] <= y + wide
            for x, y, long, wide in self.free.rects(self._mask(option))
        )

    def _mask(self, option: Option) -> int:
        return sum(1 << k for k, over in enumerate(self.over) if over.hinders(option))


def surfaces(problem: Problem, b: int, boards: Sequence[Board]) -> list[Surface]:
    """Return the floor of a box and the tops of its boards, from below."""
    box = problem.bins[b]
    floor = (0, 0, *box.size_mm[:2])
    found = [Surface(floor, 0, box.size_mm[2], _over(problem, b, boards, 0, floor))]
    for board in sorted(boards, key=lambda one: (one.z_mm, board_rect(problem, one))):
        base, rect = board.z_mm + problem.board_mm, board_rect(problem, board)
        over = _over(problem, b, boards, base, rect)
        found.append(Surface(rect, base, box.size_mm[2] - base, over, board))
    return found


def board_rect(problem: Problem, board: Board) -> Rect:
    """Return the place of a board seen from above."""
    return (0, 0, *problem.bins[board.bin].size_mm[:2]) if board.rect is None else board.rect


def board_mass_g(problem: Problem, board: Board) -> int:
    """Return the mass of a board, rounded up [g]."""
    _, _, length, width = board_rect(problem, board)
    return -(-length * width * problem.board_g_per_m2 // 1_000_000)


def shared_mm2(one: Rect, other: Rect) -> int:
    """Return the area that two rectangles share."""
    long = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    wide = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    return max(0, long) * max(0, wide)


def may_lie(problem: Problem, board: Board) -> bool:
    """Tell whether a board lies inside its box and through no body."""
    box, rect = problem.bins[board.bin], board_rect(problem, board)
    top = board.z_mm + problem.board_mm
    return (
        board.z_mm > 0
        and top < box.size_mm[2]
        and not any(
            body.at_mm[2] < top
            and board.z_mm < body.at_mm[2] + body.size_mm[2]
            and shared_mm2(rect, (*body.at_mm[:2], *body.size_mm[:2])) > 0
            for body in box.blocked
        )
    )


def _over(problem: Problem, b: int, boards: Sequence[Board], base_mm: int, rect: Rect) -> tuple[Over, ...]:
    bodies = [
        Over((*body.at_mm[:2], *body.size_mm[:2]), body.at_mm[2] - base_mm, 0)
        for body in problem.bins[b].blocked
        if body.at_mm[2] + body.size_mm[2] > base_mm
    ]
    above = sorted((one for one in boards if one.z_mm >= base_mm), key=lambda one: one.z_mm)
    levels: list[tuple[Rect, int]] = []
    for board in above:
        place = board_rect(problem, board)
        level = 1 + max((n for other, n in levels if shared_mm2(place, other)), default=0)
        levels.append((place, level))
        if shared_mm2(rect, place):
            bodies.append(Over(place, board.z_mm - base_mm, level))
    return tuple(bodies)

"""What the choice is about, in integers: items to carry, ways to bag them, boxes, and what is scarce.

Lengths are whole mm, masses whole g, margins whole minutes. Ranks: 0 must, 1 want, 2 filler.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

Mm3 = tuple[int, int, int]

Rect = tuple[int, int, int, int]
"""x, y, length, width [mm]."""


class Rule(StrEnum):
    """Rules that a user may switch off; each is one function in `selection` or `packing`."""

    SOFT_NEVER_ABOVE = "soft_never_above"
    SPREAD_MUSTS = "spread_musts"
    SPREAD_STRAINS = "spread_strains"
    SENSITIVE_OFF_WALLS = "sensitive_off_walls"
    MASS_CENTRED = "mass_centred"


@dataclass(frozen=True, slots=True)
class Line:
    """A request line: its rank, how many pieces it wants, and the value of each (fillers)."""

    id: str
    rank: int
    wanted: int
    value: int


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to bag an item. `boxes` are the indices of boxes it may go into (None: all).

    `carries_g` is what may rest on it when spread by a board; 0 means nothing may. At most `stack_most` bags
    stand over each other from this one up, itself counted.
    A bag that stands may turn about its upright axis; `size_mm` is the outer size when filled.
    """

    size_mm: Mm3
    mass_g: int
    margin_min: int
    carries_g: int
    boxes: frozenset[int] | None = None
    stack_most: int = 2


@dataclass(frozen=True, slots=True)
class Item:
    """What goes as one bag: one piece or a permitted group, for one line.

    Two items that share a piece exclude each other. `uses` maps the name of a resource to the amount used.
    """

    id: str
    pieces: tuple[str, ...]
    line: int
    strain: str
    soft: bool
    sensitive: bool
    choices: tuple[Choice, ...]
    uses: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Body:
    """A block that is already in a box (pack, board, packed bag) together with what must stay free."""

    at_mm: Mm3
    size_mm: Mm3


@dataclass(frozen=True, slots=True)
class Bin:
    """A box: free inner size, what its contents may weigh, what it bills empty, and blocked room.

    `billed_floor_g` is the dimensional mass; a used box bills the larger of that and
    `tare_g` plus contents, rounded up to `billed_step_g`.
    """

    id: str
    size_mm: Mm3
    max_contents_g: int
    tare_g: int
    billed_floor_g: int
    billed_step_g: int
    blocked: tuple[Body, ...] = ()


@dataclass(frozen=True, slots=True)
class Problem:
    """One joint choice. `capacities` caps the sum of `Item.uses` by resource name."""

    lines: tuple[Line, ...]
    items: tuple[Item, ...]
    bins: tuple[Bin, ...]
    capacities: Mapping[str, int]
    rules: frozenset[Rule] = frozenset(Rule)
    board_mm: int = 5
    board_g_per_m2: int = 600


@dataclass(frozen=True, slots=True)
class Budget:
    """How long to look. Deterministic seconds decide; the wall clock is an emergency stop only."""

    deterministic_s: float
    seed: int
    emergency_s: float = 120.0


@dataclass(frozen=True, slots=True)
class Placed:
    """One item in its box. `size_mm` is the size after turning."""

    item: int
    choice: int
    bin: int
    at_mm: Mm3
    size_mm: Mm3


@dataclass(frozen=True, slots=True)
class Board:
    """A board on which bags stand; `z_mm` is its underside.

    `rect` is x, y, length and width of its place seen from above; None: it spans the whole box.
    """

    bin: int
    z_mm: int
    rect: Rect | None = None


@dataclass(frozen=True, slots=True)
class GoalValue:
    """A goal in lexicographic order, with the proven bound. All goals but mass are maximised."""

    goal: str
    value: int
    bound: int
    proven: bool


@dataclass(frozen=True, slots=True)
class Progress:
    """Where the search stands: the goal at work, its value and bound, and the share of the budget spent."""

    goal: str
    value: int
    bound: int
    spent_share: float


@dataclass(frozen=True, slots=True)
class Result:
    """The best choice found. Empty `placed` with goals at 0 means that nothing fits."""

    placed: tuple[Placed, ...]
    boards: tuple[Board, ...]
    goals: tuple[GoalValue, ...]
    stopped_early: bool


@dataclass(frozen=True, slots=True)
class Why:
    """Why a line is short: a code, and what the solver found would change it (each solved again).

    Codes: "no_room", "no_box", "too_heavy", "resource:<name>", "excluded_by_rule:<rule>", "outranked". Where
    it takes several changes together, `together` has the codes of all of them and `each` their words: none of
    them can be spared.
    """

    line: int
    code: str
    would_fit_if: str
    together: tuple[str, ...] = ()
    each: tuple[str, ...] = ()


def with_box(problem: Problem, like: int, box: Bin) -> Problem:
    """Return the problem with one more box; what may go into the box numbered `like` may go into it."""
    new = len(problem.bins)
    items = tuple(
        replace(
            item,
            choices=tuple(
                replace(one, boxes=one.boxes | {new}) if one.boxes is not None and like in one.boxes else one
                for one in item.choices
            ),
        )
        for item in problem.items
    )
    return replace(problem, bins=(*problem.bins, box), items=items)

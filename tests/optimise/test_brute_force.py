"""Against brute force: on tiny instances every way of choosing, boxing and placing is tried."""

from dataclasses import replace
from itertools import product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from judge import faults, faults_of_the_set, goal_values
from small import bag, box, item, problem

from ramet.optimise.choose import choose
from ramet.optimise.problem import Board, Body, Budget, Line, Placed, Result, Rule

STEP = 10
"""All sizes and bodies are multiples of this, and so are corners when bags are pushed left and down."""


def rank_key(values):
    return (*values[:3], -values[3], values[4])


def brute_force(p):
    """Return the goals of the best packing, by trying everything from the best that could be downwards."""
    ways = [[None, *((i, c, b) for c in range(len(p.items[i].choices)) for b in range(len(p.bins)))]
            for i in range(len(p.items))]  # fmt: skip
    tries = []
    for combination in product(*ways):
        chosen = [w for w in combination if w is not None]
        for groups in product(*(range(len(chosen) + 1) for _ in chosen)):
            if _is_numbered(chosen, groups) and not faults_of_the_set(p, _unplaced(p, chosen)):
                tries.append((_worth(p, chosen, groups), chosen, groups))
    tries.sort(key=lambda one: rank_key(one[0]), reverse=True)
    return next(worth for worth, chosen, groups in tries if _can_stand(p, chosen, groups))


def _is_numbered(chosen, groups):
    """Group 0 is the floor; boards are numbered as they appear, each in one box."""
    seen = {}
    for (_, _, b), group in zip(chosen, groups, strict=True):
        if group and group not in seen:
            if group != len(seen) + 1:
                return False
            seen[group] = b
        if group and seen[group] != b:
            return False
    boxes = {b for _, _, b in chosen}
    return all(any(w[2] == b and not g for w, g in zip(chosen, groups, strict=True)) for b in boxes)


def _unplaced(p, chosen):
    placed = (Placed(i, c, b, (0, 0, 0), p.items[i].choices[c].size_mm) for i, c, b in chosen)
    return Result(tuple(placed), (), (), False)


def _worth(p, chosen, groups):
    boards = {(g, w[2]) for w, g in zip(chosen, groups, strict=True) if g}
    laid = tuple(Board(b, 0, (0, 0, STEP, STEP)) for _, b in boards)  # any board here weighs one gram
    return goal_values(p, replace(_unplaced(p, chosen), boards=laid))


def _can_stand(p, chosen, groups):
    if not all(_may_be(p, b, chosen, groups) for b in {w[2] for w in chosen}):
        return False
    floor = [w for w, g in zip(chosen, groups, strict=True) if not g]
    boards = [[w for w, g in zip(chosen, groups, strict=True) if g == k] for k in sorted(set(groups) - {0})]
    return any(_build(p, placed, (), boards) for placed in _placings(p, floor, 0, None, ()))


def _may_be(p, b, chosen, groups):
    """Sum up mass, load, floor and height first: most tries end here."""
    here = [(p.items[i].choices[c], g) for (i, c, bb), g in zip(chosen, groups, strict=True) if bb == b]
    box = p.bins[b]
    low = [c for c, g in here if not g]
    boards = len({g for _, g in here} - {0})
    above = sum(c.mass_g for c, g in here if g) + boards
    high = max((c.size_mm[2] for c, g in here if g), default=0)
    return (
        above + sum(c.mass_g for c in low) <= box.max_contents_g
        and (not boards or above <= sum(c.carries_g for c in low))
        and sum(c.size_mm[0] * c.size_mm[1] for c in low) <= box.size_mm[0] * box.size_mm[1]
        and (not boards or min(c.size_mm[2] for c in low) + p.board_mm + high <= box.size_mm[2])
    )


def _build(p, placed, done, boards):
    """Lay the boards one by one, in any order, and bags on them."""
    if not boards:
        return not [f for f in faults(p, Result(tuple(placed), done, (), False)) if not f.startswith("goals")]
    for k, bags in enumerate(boards):
        b = bags[0][2]
        tops = {q.at_mm[2] + q.size_mm[2] for q in placed if q.bin == b}
        tops |= {top + 5 for top in tops} | {o.at_mm[2] + o.size_mm[2] for o in p.bins[b].blocked}
        for z, rect in product(sorted(tops), _rects(p.bins[b])):
            board = Board(b, z, rect)
            if _lies(p, board, placed, done):
                rest = boards[:k] + boards[k + 1 :]
                for more in _placings(p, bags, z + p.board_mm, rect, tuple(placed)):
                    if _build(p, more, (*done, board), rest):
                        return True
    return False


def _rects(box):
    xs, ys = range(0, box.size_mm[0] + 1, STEP), range(0, box.size_mm[1] + 1, STEP)
    return [(x, y, e - x, f - y) for x in xs for e in xs for y in ys for f in ys if x < e and y < f]


def _lies(p, board, placed, done):
    one = Placed(0, 0, board.bin, (*board.rect[:2], board.z_mm), (*board.rect[2:], p.board_mm))
    others = [Placed(0, 0, o.bin, (*o.rect[:2], o.z_mm), (*o.rect[2:], p.board_mm)) for o in done]
    borne = any(
        q.bin == board.bin and q.at_mm[2] + q.size_mm[2] <= board.z_mm and not _apart2(one, q) for q in placed
    )
    return borne and _free(p, one, [*placed, *others])


def _apart2(one, other):
    return any(
        one.at_mm[k] >= other.at_mm[k] + other.size_mm[k] or other.at_mm[k] >= one.at_mm[k] + one.size_mm[k]
        for k in (0, 1)
    )


def _placings(p, chosen, z, rect, placed):
    """Yield every way to put bags down at a height, inside a board's place."""
    if not chosen:
        yield placed
        return
    (i, c, b), rest = chosen[0], chosen[1:]
    length, width, height = p.items[i].choices[c].size_mm
    left, near, long, wide = rect or (0, 0, *p.bins[b].size_mm[:2])
    for size in sorted({(length, width, height), (width, length, height)}):
        for x in range(left, left + long - size[0] + 1, STEP):
            for y in range(near, near + wide - size[1] + 1, STEP):
                one = Placed(i, c, b, (x, y, z), size)
                if _free(p, one, placed):
                    yield from _placings(p, rest, z, rect, (*placed, one))


def _free(p, one, placed):
    def apart(at, size):
        return any(
            one.at_mm[k] >= at[k] + size[k] or at[k] >= one.at_mm[k] + one.size_mm[k] for k in range(3)
        )

    box = p.bins[one.bin]
    if one.at_mm[2] + one.size_mm[2] > box.size_mm[2]:
        return False
    bodies = all(apart(body.at_mm, body.size_mm) for body in box.blocked)
    return bodies and all(apart(q.at_mm, q.size_mm) for q in placed if q.bin == one.bin)


side = st.sampled_from([10, 20, 30])
choices = st.builds(
    bag,
    side, st.sampled_from([10, 20]), st.sampled_from([10, 20, 35]),
    g=st.integers(100, 900), margin=st.integers(1, 99), carries=st.sampled_from([0, 700, 3000]),
)  # fmt: skip


@st.composite
def problems(draw):
    lines = [Line(f"r{k}", k, draw(st.integers(1, 2)), draw(st.integers(1, 9))) for k in range(3)]
    items = [
        item(
            f"i{k}",
            draw(st.integers(0, 2)),
            *draw(st.lists(choices, min_size=1, max_size=2 if k < 2 else 1)),
            strain=draw(st.sampled_from("st")),
            soft=draw(st.booleans()),
            pieces=(f"p{draw(st.integers(0, 3))}",),
            cups=draw(st.integers(0, 2)),
        )
        for k in range(draw(st.integers(1, 4)))
    ]
    bodies = [(), (Body((0, 0, 0), (10, 20, 20)),), (Body((20, 0, 40), (10, 20, 20)),)]
    boxes = [
        box(30, 20, 60, name=f"b{k}", most_g=draw(st.sampled_from([800, 5000])), tare=100, floor=300,
            step=100, blocked=draw(st.sampled_from(bodies)))
        for k in range(draw(st.integers(1, 2)))
    ]  # fmt: skip
    rules = draw(st.sets(st.sampled_from(list(Rule))))
    return problem(lines, items, boxes, frozenset(rules), cups=draw(st.integers(0, 6)))


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems())
def test_the_best_packing_is_found_and_proven(p):
    result = choose(p, Budget(5.0, 1))
    assert faults(p, result) == []
    assert tuple(g.value for g in result.goals) == tuple(brute_force(p))
    assert all(g.proven for g in result.goals)

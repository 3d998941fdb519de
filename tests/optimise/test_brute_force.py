"""Against brute force: on tiny instances every way of choosing, boxing and placing is tried."""

from itertools import product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from judge import faults, goal_values
from small import bag, box, item, problem

from ramet.optimise.choose import choose
from ramet.optimise.problem import Board, Body, Budget, Line, Placed, Result, Rule

STEP = 10
"""All sizes and bodies are multiples of this, and so are corners when bags are pushed left and down."""


def rank_key(values):
    return (*values[:3], -values[3], values[4])


def brute_force(p):
    """Return the goals of the best packing, by trying everything."""
    best = (0, 0, 0, 0, 0)
    ways = [[None, *_ways(p, i)] for i in range(len(p.items))]
    for combination in product(*ways):
        chosen = [w for w in combination if w is not None]
        for boards in _boards(p, chosen):
            placed = _place(p, chosen, boards, [])
            if placed is None:
                continue
            result = Result(tuple(placed), boards, (), False)
            if not [f for f in faults(p, result) if not f.startswith("goals")]:
                best = max(best, tuple(goal_values(p, result)), key=rank_key)
    return best


def _ways(p, i):
    return [
        (i, c, b, upper)
        for c in range(len(p.items[i].choices))
        for b in range(len(p.bins))
        for upper in (False, True)
    ]


def _boards(p, chosen):
    """Lowest boards: a lower one is never worse here, for bodies stand on the floor or hang from the lid."""
    boards = []
    for b in sorted({w[2] for w in chosen if w[3]}):
        low = [p.items[i].choices[c] for i, c, bb, upper in chosen if bb == b and not upper]
        if not low:
            return []
        need = max(c.size_mm[2] if c.carries_g else c.size_mm[2] + 5 for c in low)
        tops = [body.at_mm[2] + body.size_mm[2] for body in p.bins[b].blocked if body.at_mm[2] == 0]
        boards.append(Board(b, max([need, *tops])))
    return [tuple(boards)]


def _place(p, chosen, boards, placed):
    if not chosen:
        return placed
    (i, c, b, upper), rest = chosen[0], chosen[1:]
    z = next(board.z_mm for board in boards if board.bin == b) + p.board_mm if upper else 0
    length, width, height = p.items[i].choices[c].size_mm
    for size in {(length, width, height), (width, length, height)}:
        for x in range(0, p.bins[b].size_mm[0] - size[0] + 1, STEP):
            for y in range(0, p.bins[b].size_mm[1] - size[1] + 1, STEP):
                one = Placed(i, c, b, (x, y, z), size)
                if _free(p, one, placed):
                    found = _place(p, rest, boards, [*placed, one])
                    if found is not None:
                        return found
    return None


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
    side, side, st.sampled_from([10, 20, 35]),
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
    bodies = [(), (Body((0, 0, 0), (10, 20, 20)),), (Body((20, 10, 40), (10, 10, 20)),)]
    boxes = [
        box(30, 30, 60, name=f"b{k}", most_g=draw(st.sampled_from([800, 5000])), tare=100, floor=300,
            step=100, blocked=draw(st.sampled_from(bodies)))
        for k in range(draw(st.integers(1, 2)))
    ]  # fmt: skip
    rules = draw(st.sets(st.sampled_from(list(Rule))))
    return problem(lines, items, boxes, frozenset(rules), cups=draw(st.integers(0, 6)))


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems())
def test_the_best_packing_is_found_and_proven(p):
    result = choose(p, Budget(5.0, 1))
    assert faults(p, result) == []
    assert tuple(g.value for g in result.goals) == brute_force(p)
    assert all(g.proven for g in result.goals)

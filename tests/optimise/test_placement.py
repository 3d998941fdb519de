"""Checked against enumeration of every assignment on tiny tanks; nothing here is published."""

import math
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ramet.optimise.placement import GOOD_ENOUGH, SpotResult, assign
from ramet.optimise.placement_problem import Item, SpotProblem, Stream
from ramet.optimise.problem import Budget

BUDGET = Budget(deterministic_s=2.0, seed=1)


def breaks_a_rule(problem: SpotProblem, spot_of: dict[int, int]) -> bool:
    if any(spot not in problem.items[item].points for item, spot in spot_of.items()):
        return True
    return any(
        spot_of[i] == spot_of[j]
        or math.dist(problem.spots_mm[spot_of[i]], problem.spots_mm[spot_of[j]]) < problem.apart_mm[i][j]
        or drifts(problem, spot_of, i, j)
        or drifts(problem, spot_of, j, i)
        for i, j in combinations(spot_of, 2)
    )


def drifts(problem: SpotProblem, spot_of: dict[int, int], harmful: int, harmed: int) -> bool:
    stream = problem.stream
    if stream is None or (harmful, harmed) not in stream.pairs:
        return False
    (x, y, _), (to_x, to_y, _) = problem.spots_mm[spot_of[harmful]], problem.spots_mm[spot_of[harmed]]
    down = (to_x - x) * stream.along[0] + (to_y - y) * stream.along[1]
    side = abs((to_x - x) * stream.along[1] - (to_y - y) * stream.along[0])
    return 0 < down <= stream.length_mm and side <= stream.side_mm


def worth(problem: SpotProblem, spot_of: dict[int, int]) -> list[int]:
    """How many of each rank stand, the first rank first, then the points."""
    ranks = sorted({item.rank for item in problem.items})
    counts = [sum(problem.items[i].rank == rank for i in spot_of) for rank in ranks]
    return [*counts, sum(problem.items[i].points[spot] for i, spot in spot_of.items())]


def best_by_enumeration(problem: SpotProblem) -> list[int]:
    best = worth(problem, {})
    for picked in product(*([None, *item.points] for item in problem.items)):
        spot_of = {item: spot for item, spot in enumerate(picked) if spot is not None}
        if not breaks_a_rule(problem, spot_of):
            best = max(best, worth(problem, spot_of))
    return best


def apart_of(halves: list[int], reach: list[int], strains: list[int]) -> tuple[tuple[int, ...], ...]:
    count = range(len(halves))
    return tuple(
        tuple(
            halves[i] + halves[j] + (max(reach[i], reach[j]) if strains[i] != strains[j] else 0)
            for j in count
        )
        for i in count
    )


@st.composite
def problems(draw: st.DrawFn, items_most: int, spots_most: int) -> SpotProblem:
    count, spots = draw(st.integers(1, items_most)), draw(st.integers(1, spots_most))
    places = draw(
        st.lists(
            st.tuples(st.integers(0, 300), st.integers(0, 200), st.integers(0, 60)),
            min_size=spots,
            max_size=spots,
            unique=True,
        )
    )
    points = st.dictionaries(st.integers(0, spots - 1), st.integers(1, 100), max_size=spots)
    items = tuple(Item(f"i{n}", draw(st.integers(0, 2)), draw(points)) for n in range(count))

    def numbers(low: int, high: int) -> list[int]:
        return draw(st.lists(st.integers(low, high), min_size=count, max_size=count))

    pairs = draw(st.frozensets(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=6))
    along = draw(st.sampled_from([(1, 0), (-1, 0), (0, 1), (0, -1)]))
    stream = Stream(along, draw(st.integers(0, 300)), draw(st.integers(0, 80)), pairs)
    apart = apart_of(numbers(10, 40), numbers(0, 120), numbers(0, 3))
    return SpotProblem(items, tuple(places), apart, draw(st.sampled_from([None, stream])))


@settings(max_examples=60, deadline=None)
@given(problems(items_most=4, spots_most=5))
def test_no_assignment_is_better_than_the_one_found(problem: SpotProblem) -> None:
    found = assign(problem, BUDGET)
    best = best_by_enumeration(problem)
    assert not breaks_a_rule(problem, dict(found.spot_of))
    have = worth(problem, dict(found.spot_of))
    # As many of each rank as can be; the points within the share that counts as good enough.
    assert have[:-1] == best[:-1]
    assert best[-1] <= have[-1] * (1 + GOOD_ENOUGH)
    assert [goal.value for goal in found.goals] == have
    assert all(goal.bound >= reached for goal, reached in zip(found.goals, best, strict=True))


@settings(max_examples=40, deadline=None)
@given(problems(items_most=15, spots_most=40), st.integers(0, 5))
def test_no_two_items_stand_nearer_than_asked(problem: SpotProblem, seed: int) -> None:
    found = assign(problem, Budget(0.05, seed))
    assert not breaks_a_rule(problem, dict(found.spot_of))
    assert all(goal.bound >= goal.value for goal in found.goals)
    assert all(goal.proven == (goal.bound == goal.value) for goal in found.goals)


def test_the_most_important_item_takes_the_only_spot() -> None:
    items = (Item("filler", 2, {0: 100}), Item("must", 0, {0: 1}))
    problem = SpotProblem(items, ((0, 0, 0),), ((0, 0), (0, 0)))
    assert assign(problem, BUDGET).spot_of == {1: 0}


def test_two_that_need_a_hand_between_them_take_the_ends_of_a_row() -> None:
    row = tuple((50 * n, 0, 0) for n in range(5))
    items = tuple(Item(name, 0, dict.fromkeys(range(5), 10)) for name in "ab")
    found = assign(SpotProblem(items, row, ((0, 200), (200, 0))), BUDGET)
    assert set(found.spot_of.values()) == {0, 4}
    assert all(goal.proven for goal in found.goals)


def test_a_gap_of_exactly_what_is_asked_is_enough() -> None:
    items = tuple(Item(name, 0, {0: 10, 1: 10}) for name in "ab")
    spots = ((0, 0, 0), (30, 40, 0))
    assert len(assign(SpotProblem(items, spots, ((0, 50), (50, 0))), BUDGET).spot_of) == 2
    assert len(assign(SpotProblem(items, spots, ((0, 51), (51, 0))), BUDGET).spot_of) == 1


def test_items_without_a_spot_are_left_out() -> None:
    found = assign(SpotProblem((Item("a", 0, {}),), ((0, 0, 0),), ((0,),)), BUDGET)
    assert found.spot_of == {}
    assert [(goal.value, goal.bound) for goal in found.goals] == [(0, 0), (0, 0)]


def test_the_same_assignment_comes_out_twice() -> None:
    spots = tuple((40 * x, 40 * y, 0) for x in range(20) for y in range(8))
    items = tuple(Item(f"i{n}", n % 3, {s: (7 * n + 3 * s) % 50 + 1 for s in range(160)}) for n in range(25))
    apart = apart_of([20] * 25, [30 + 5 * (n % 8) for n in range(25)], list(range(25)))

    def once() -> SpotResult:
        return assign(SpotProblem(items, spots, apart), Budget(0.05, 3))

    assert once() == once()


def test_a_table_of_distances_of_the_wrong_size_is_refused() -> None:
    with pytest.raises(ValueError, match="1 by 1"):
        SpotProblem((Item("a", 0, {}),), ((0, 0, 0),), ())


@pytest.mark.parametrize("seed", range(6))
def test_nobody_is_moved_into_the_stream_of_another(seed: int) -> None:
    # Five that harm what lies down-current and five that bear no harm, on a tight grid: trials drive items
    # out all the time, and what is driven out must not land in a stream.
    spots = tuple((60 * x, 60 * y, 0) for x in range(7) for y in range(4))
    items = tuple(
        Item(f"i{n}", 0, {s: (11 * n + 7 * s) % 40 + 1 for s in range(len(spots))}) for n in range(10)
    )
    pairs = frozenset((i, j) for i in range(5) for j in range(5, 10))
    apart = tuple(tuple(50 for _ in range(10)) for _ in range(10))
    problem = SpotProblem(items, spots, apart, Stream((1, 0), 200, 30, pairs))
    found = assign(problem, Budget(0.05, seed))
    assert len(found.spot_of) == 10
    assert not breaks_a_rule(problem, dict(found.spot_of))

"""Geometry against a brute force of its own: boxes painted into a grid of whole millimetres, cell by cell."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from ramet.check.bodies import Body, Mm3, below, carriers, inside, overlap, shared_footprint_mm2

ROOM = 7
corner = st.tuples(*[st.integers(0, ROOM - 1)] * 3)
sides = st.tuples(*[st.integers(1, ROOM)] * 3)


@st.composite
def bodies(draw: st.DrawFn, name: str = "a") -> Body:
    return Body(name, "bag", draw(corner), draw(sides))


def cells(body: Body) -> set[Mm3]:
    """Return every cubic millimetre of a body."""
    spans = [range(at, at + size) for at, size in zip(body.at_mm, body.size_mm, strict=True)]
    return set(product(*spans))


@given(bodies("a"), bodies("b"))
def test_bodies_overlap_when_they_share_a_cell(one: Body, other: Body) -> None:
    assert overlap(one, other) == bool(cells(one) & cells(other))


@given(bodies("a"), bodies("b"), st.integers(1, 3))
def test_a_gap_is_kept_when_the_body_grown_by_it_shares_no_cell(one: Body, other: Body, gap: int) -> None:
    x, y, z = one.at_mm
    dx, dy, dz = one.size_mm
    grown = Body("grown", "pack", (x - gap, y - gap, z - gap), (dx + 2 * gap, dy + 2 * gap, dz + 2 * gap))
    assert overlap(one, other, gap) == bool(cells(grown) & cells(other))


@given(bodies("a"), bodies("b"))
def test_footprints_share_the_columns_that_both_stand_in(one: Body, other: Body) -> None:
    columns = [{(x, y) for x, y, _ in cells(body)} for body in (one, other)]
    assert shared_footprint_mm2(one, other) == len(columns[0] & columns[1])


@given(bodies("a"), sides)
def test_a_body_is_inside_when_every_cell_is(body: Body, inner: Mm3) -> None:
    room = set(product(*(range(side) for side in inner)))
    assert inside(body, inner) == (cells(body) <= room)


@given(bodies("a"), bodies("b"))
def test_a_body_rests_on_another_where_cells_touch_from_above(one: Body, other: Body) -> None:
    top = {(x, y, z + 1) for x, y, z in cells(other)} - cells(other)
    bottom = {cell for cell in cells(one) if cell[2] == one.at_mm[2]}
    touching = len(bottom & {cell for cell in top if cell[2] == other.end_mm[2]})
    assert carriers(one, [one, other]) == (((other, touching),) if touching else ())


@given(bodies("a"), bodies("b"))
def test_a_body_is_below_when_each_shared_column_ends_before_the_upper_one_starts(
    one: Body, other: Body
) -> None:
    shared = {(x, y) for x, y, _ in cells(one)} & {(x, y) for x, y, _ in cells(other)}
    under = bool(shared) and max(z for _, _, z in cells(other)) < min(z for _, _, z in cells(one))
    assert below(one, [one, other]) == ((other,) if under else ())

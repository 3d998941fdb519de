"""Filling the gaps: no wide free square is left beside bags, nothing overlaps, packs keep their air."""

from types import SimpleNamespace

from hypothesis import given
from hypothesis import strategies as st
from small_shipment import REFERENCE

from ramet.services.planning.gaps import gap_fills

LENGTH, WIDTH, HEIGHT = 300, 200, 200
LEAST = round(REFERENCE.parameter("void_least_mm").band.typical)


def bag(x: int, y: int, z: int, length: int, width: int, tall: int) -> SimpleNamespace:
    return SimpleNamespace(at_mm=(x, y, z), size_mm=(length, width, tall))


def box(*packs: SimpleNamespace) -> SimpleNamespace:
    return SimpleNamespace(inner_mm=(LENGTH, WIDTH, HEIGHT), packs=packs)


@st.composite
def layers(draw: st.DrawFn) -> list[SimpleNamespace]:
    columns = draw(st.lists(st.integers(40, 100), min_size=1, max_size=3))
    placed, x = [], 0
    for length in columns:
        y = 0
        for _ in range(draw(st.integers(0, 3))):
            width = draw(st.integers(40, 90))
            y += draw(st.integers(0, 30))
            if x + length <= LENGTH and y + width <= WIDTH:
                placed.append(bag(x, y, 0, length, width, draw(st.integers(60, 150))))
            y += width
        x += length + draw(st.integers(0, 30))
    return placed


@given(layers())
def test_no_free_square_is_left_and_nothing_overlaps(bags: list[SimpleNamespace]) -> None:
    filled = gap_fills(box(), bags, (), REFERENCE)
    bodies = [*bags, *filled]
    taken = [[0] * WIDTH for _ in range(LENGTH)]
    for body in bodies:
        for i in range(body.at_mm[0], body.at_mm[0] + body.size_mm[0]):
            for j in range(body.at_mm[1], body.at_mm[1] + body.size_mm[1]):
                taken[i][j] += 1
    assert max(max(row) for row in taken) <= 1
    if bags:
        assert not any(
            all(taken[i + a][j + b] == 0 for a in range(LEAST) for b in range(LEAST))
            for i in range(0, LENGTH - LEAST, 5)
            for j in range(0, WIDTH - LEAST, 5)
        )
        lowest = min(one.size_mm[2] for one in bags)
        assert all(pad.size_mm[2] < lowest for pad in filled)


def test_the_air_around_a_pack_is_left_free() -> None:
    pack = SimpleNamespace(keep_at_mm=(100, 50, 20), keep_size_mm=(100, 100, 180))
    filled = gap_fills(box(pack), [bag(0, 0, 0, 60, 60, 100)], (), REFERENCE)
    assert filled
    for pad in filled:
        (x, y, _), (length, width, _) = pad.at_mm, pad.size_mm
        assert x >= 200 or x + length <= 100 or y >= 150 or y + width <= 50

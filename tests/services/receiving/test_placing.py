"""Spacing rules are common practice without a source, except where a source stands beside the check."""

import math
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pinned_reference import pinned

from ramet.domain.words import Form, Rank
from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Placement
from ramet.reference.tables import Reference, load_reference
from ramet.services.receiving.placing import PlacedPiece, Placing, place
from ramet.services.receiving.spots import spots

KINDS = [
    ("Acropora millepora", Form.BRANCHING),
    ("Favites abdita", Form.MASSIVE),
    ("Euphyllia glabrescens", Form.PHACELOID),
    ("Sinularia flexibilis", Form.LEATHER),
    ("Zoanthus sociatus", Form.MAT),
    ("Montipora capricornis", Form.PLATING),
]


@pytest.fixture(scope="module")
def reference() -> Reference:
    return load_reference()


def tank(*zones: tuple[str, float, float, float], length_mm: float = 1200, width_mm: float = 600) -> Tank:
    return Tank.model_validate(
        {
            "volume_l": 400,
            "length_mm": length_mm,
            "width_mm": width_mm,
            "alkalinity_dkh": 8,
            "calcium_mg_l": 420,
            "magnesium_mg_l": 1300,
            "zone": [
                {"name": name, "area_cm2": area, "par_low": low, "par_high": high}
                for name, area, low, high in zones
            ],
        }
    )


THREE = (("crest", 2000.0, 150.0, 300.0), ("slope", 2500.0, 80.0, 160.0), ("floor", 1500.0, 40.0, 90.0))


def piece(name: str, kind: int = 0, strain: str | None = None, rank: Rank = Rank.MUST) -> PlacedPiece:
    taxon, form = KINDS[kind]
    return PlacedPiece(name, strain or name, taxon, form, (40, 30, 30), rank)


def by_piece(found: Placing) -> dict[str, Placement]:
    return {one.piece: one for one in found.placements}


def between(found: Placing, one: str, other: str) -> float:
    places = by_piece(found)
    here, there = places[one].at_mm, places[other].at_mm
    assert here is not None
    assert there is not None
    return math.dist(here, there)


def test_every_piece_stands_in_light_that_its_genus_can_use(reference: Reference) -> None:
    pieces = [piece(f"p{n}", n % len(KINDS)) for n in range(12)]
    found = place(reference, tank(*THREE), pieces, 0.1, 1)
    light = {name: (low, high) for name, _, low, high in THREE}
    assert found.unplaced == ()
    for one in pieces:
        low, high = light[by_piece(found)[one.piece].zone]
        usable = reference.trait(one.taxon, one.form, "light_par").band
        assert low <= usable.high
        assert high >= usable.low


def test_the_gap_is_the_longer_reach_and_what_both_grow(reference: Reference) -> None:
    # By hand: reach 60 mm, growth 2 x 10 cm a year over 182.625 days = 2 x 50 mm, halves 2 x 20 mm: 200 mm.
    plain = pinned(
        reference,
        placement_horizon=182.625,
        Favites__massive__reach_cm=6,
        Favites__massive__extension_cm_yr=10,
    )
    # A row of spots 40 mm apart and 210 mm long between the first and the last takes two pieces, no more.
    row = tank(("slope", 99999, 80, 160), length_mm=100 + 6 * 40 + 1, width_mm=145)
    pieces = [piece(f"p{n}", 1, rank=rank) for n, rank in enumerate((Rank.FILLER, Rank.MUST, Rank.WANT))]
    found = place(plain, row, pieces, 0.5, 1)
    assert between(found, "p1", "p2") >= 200
    assert [name for name, _ in found.unplaced] == ["p0"]
    assert "it needs 200 mm from the middle of" in found.unplaced[0][1]


def test_pieces_of_one_strain_may_stand_side_by_side(reference: Reference) -> None:
    # Three spots 40 mm apart; reach and growth alone ask for more than that between strangers.
    row = tank(("slope", 99999, 80, 160), length_mm=100 + 3 * 40 + 1, width_mm=145)
    kin = [piece(f"p{n}", 1, strain="one") for n in range(3)]
    strangers = [piece(f"p{n}", 1) for n in range(3)]
    assert place(reference, row, kin, 0.2, 1).unplaced == ()
    assert len(place(reference, row, strangers, 0.2, 1).unplaced) == 1


def test_a_soft_coral_stands_ten_centimetres_from_stony_ones(reference: Reference) -> None:
    # Griffith 1997: most corals within 10 cm of a soft coral were harmed or harming.
    found = place(reference, tank(*THREE), [piece("soft", 3), piece("stony", 1)], 0.1, 1)
    assert between(found, "soft", "stony") - 20 - 20 >= 100


def test_light_out_of_range_is_said_in_numbers(reference: Reference) -> None:
    found = place(reference, tank(("cave", 3000, 5, 20)), [piece("p1", 0)], 0.1, 1)
    assert by_piece(found)["p1"].at_mm is None
    ((name, reason),) = found.unplaced
    assert name == "p1"
    usable = reference.trait(*KINDS[0], "light_par").band
    assert f"{usable.low:.0f}–{usable.high:.0f} µmol m⁻² s⁻¹" in reason
    assert "cave 5–20" in reason


def test_a_tank_that_is_all_edge_has_no_spot(reference: Reference) -> None:
    found = place(reference, tank(*THREE, length_mm=90), [piece("p1", 1)], 0.1, 1)
    assert found.unplaced == (("p1", "the tank has no room for a single spot"),)


def test_pieces_are_glued_from_back_to_front(reference: Reference) -> None:
    found = place(reference, tank(*THREE), [piece(f"p{n}", n % 6) for n in range(14)], 0.1, 1)
    placed = sorted((one for one in found.placements if one.at_mm), key=lambda one: one.order)
    depths = [one.at_mm[1] for one in placed if one.at_mm]
    assert depths == sorted(depths, reverse=True)
    assert [one.order for one in found.placements] == list(range(1, len(found.placements) + 1))


def test_the_tall_stand_behind_the_low(reference: Reference) -> None:
    low, tall = piece("low", 1), replace(piece("tall", 1), size_mm=(40, 30, 200))
    places = by_piece(place(reference, tank(*THREE), [low, tall], 0.1, 1))
    assert places["tall"].at_mm is not None
    assert places["low"].at_mm is not None
    assert places["tall"].at_mm[1] > places["low"].at_mm[1]


def test_spots_stay_inside_the_tank_and_cover_each_zone_by_its_area(reference: Reference) -> None:
    found = spots(reference, tank(*THREE))
    edge = reference.parameter("placement_edge").band.typical
    assert all(edge <= spot.at_mm[0] <= 1200 - edge for spot in found)
    assert all(edge <= spot.at_mm[1] <= 600 - edge for spot in found)
    share = sum(spot.zone is not None and spot.zone.name == "slope" for spot in found) / len(found)
    assert share == pytest.approx(2500 / 6000, abs=0.03)


def test_a_tank_without_zones_takes_any_light(reference: Reference) -> None:
    assert place(reference, tank(), [piece("p1", 0), piece("p2", 2)], 0.1, 1).unplaced == ()


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(0, len(KINDS) - 1), st.sampled_from("abc"), st.floats(15, 120), st.sampled_from(Rank)
        ),
        max_size=25,
    ),
    st.floats(300, 1500),
)
def test_all_are_listed_once_and_strangers_keep_their_distance(
    wishes: list[tuple[int, str, float, Rank]], length_mm: float
) -> None:
    reference = load_reference()
    pieces = [
        PlacedPiece(f"p{n}", f"{kind}{strain}", *KINDS[kind], (size, size / 2, size), rank)
        for n, (kind, strain, size, rank) in enumerate(wishes)
    ]
    found = place(reference, tank(*THREE, length_mm=length_mm), pieces, 0.05, 1)
    assert sorted(one.piece for one in found.placements) == sorted(one.piece for one in pieces)
    assert {name for name, _ in found.unplaced} == {one.piece for one in found.placements if not one.at_mm}
    places = by_piece(found)
    for one, other in combinations(pieces, 2):
        here, there = places[one.piece].at_mm, places[other.piece].at_mm
        if here is None or there is None:
            continue
        gap = math.dist(here, there) - max(one.size_mm[:2]) / 2 - max(other.size_mm[:2]) / 2
        reach = max(10 * reference.trait(it.taxon, it.form, "reach_cm").band.typical for it in (one, other))
        assert gap >= (reach if one.strain != other.strain else 0) - 1e-9


# Real places: spots, rock, flow, viewing side.

WATER = {"volume_l": 300, "alkalinity_dkh": 8, "calcium_mg_l": 420, "magnesium_mg_l": 1300}


def with_spots(*spots: tuple[int, int, int], par: float | None = 150.0, **more: object) -> Tank:
    listed = [
        {"at_mm": (x, y), "height_mm": z, "par": par, "name": f"S{n}"} for n, (x, y, z) in enumerate(spots)
    ]
    return Tank.model_validate(WATER | {"spot": listed} | more)


def test_pieces_stand_on_the_spots_of_the_file_and_the_rest_stay_free(reference: Reference) -> None:
    places = with_spots((100, 100, 0), (600, 300, 200), (1100, 500, 50))
    found = place(reference, places, [piece("p1", 1)], 0.1, 1)
    (one,) = found.placements
    assert (one.at_mm, one.height_mm, one.spot) in {
        ((100, 100), 0, "S0"),
        ((600, 300), 200, "S1"),
        ((1100, 500), 50, "S2"),
    }
    assert one.par == 150
    assert len(found.free) == 2
    assert {spot.spot for spot in found.free} == {"S0", "S1", "S2"} - {one.spot}


def test_height_counts_as_distance(reference: Reference) -> None:
    # 100 mm apart on the floor is too near for two strangers; 250 mm of height between them is not.
    flat = place(reference, with_spots((100, 100, 0), (200, 100, 0)), [piece("a", 2), piece("b", 1)], 0.1, 1)
    steep = place(
        reference, with_spots((100, 100, 0), (200, 100, 250)), [piece("a", 2), piece("b", 1)], 0.1, 1
    )
    assert len(flat.unplaced) == 1
    assert steep.unplaced == ()


@pytest.mark.parametrize(
    ("flow_from", "soft_at"), [("left", (500, 300)), ("right", (200, 300)), ("changing", None), (None, None)]
)
def test_no_soft_coral_stands_up_current_of_a_stony_one(
    reference: Reference, flow_from: str | None, soft_at: tuple[int, int] | None
) -> None:
    # Two spots 300 mm apart along the flow. Recruits were fewest down-current of a soft coral (Maida and
    # others 1995): only one way round is right, by the direction of the water.
    places = with_spots((200, 300, 0), (500, 300, 0), flow_from=flow_from)
    near = pinned(reference, Sinularia__leather__reach_cm=10)
    found = place(near, places, [piece("soft", 3), piece("stony", 1)], 0.2, 1)
    assert found.unplaced == ()
    if soft_at is not None:
        assert by_piece(found)["soft"].at_mm == soft_at


def test_the_stream_is_named_when_it_alone_leaves_no_place(reference: Reference) -> None:
    # Each has one spot in its light, the stony one 260 mm down-current of the soft one: far enough by reach.
    picky = pinned(reference, Sinularia__leather__light_par=200, Favites__massive__light_par=150)
    here, there = {"at_mm": (200, 300), "par": 200.0}, {"at_mm": (460, 320), "par": 150.0}
    given = WATER | {"flow_from": "left", "spot": [here, there]}
    both = [piece("soft", 3), piece("stony", 1)]
    found = place(picky, Tank.model_validate(given), both, 0.2, 1)
    assert len(found.unplaced) == 1
    assert "water runs from" in found.unplaced[0][1]
    assert place(picky, Tank.model_validate(given | {"flow_from": "front"}), both, 0.2, 1).unplaced == ()


def test_the_tall_stand_far_from_the_side_that_people_look_from(reference: Reference) -> None:
    spots_ = [(100 + 200 * n, 300, 0) for n in range(6)]
    low, tall = piece("low", 1), replace(piece("tall", 1), size_mm=(40, 30, 200))
    for side, farther in (("left", max), ("right", min)):
        found = place(reference, with_spots(*spots_, viewed_from=(side,)), [low, tall], 0.1, 1)
        at = {name: one.at_mm[0] for name, one in by_piece(found).items() if one.at_mm}
        assert at["tall"] == farther(at.values())
        orders = {one.piece: one.order for one in found.placements}
        assert orders["tall"] < orders["low"]


def test_a_height_map_gives_spots_on_its_cells(reference: Reference) -> None:
    # Two rows of three cells over 1.2 × 0.6 m, the back row first: the back left is 300 mm high.
    rock = Tank.model_validate(WATER | {"rock_heights_mm": [[300, 100, 0], [0, 50, 0]]})
    found = spots(reference, rock)
    height = {spot.at_mm: spot.height_mm for spot in found}
    assert {h for (x, y), h in height.items() if x < 400 and y > 300} == {300}
    assert {h for (x, y), h in height.items() if 400 < x < 800 and y < 300} == {50}
    assert all(spot.par is None for spot in found)


def test_lamps_and_readings_light_every_spot(reference: Reference) -> None:
    # Under the lamp and high is brightest, at the far end and low darkest (inverse square).
    lit = Tank.model_validate(
        WATER
        | {
            "depth_mm": 500,
            "lamp": [{"at_mm": (300, 300), "above_water_mm": 200}],
            "reading": [{"at_mm": (300, 300), "par": 120.0}, {"at_mm": (900, 300), "par": 30.0}],
            "spot": [{"at_mm": (300, 310), "height_mm": 300}, {"at_mm": (1100, 100)}, {"at_mm": (300, 100)}],
        }
    )
    high, far, low = (spot.par for spot in spots(reference, lit))
    assert high is not None
    assert far is not None
    assert low is not None
    assert high > low > far > 0


def test_flow_out_of_range_is_said_at_the_spot(reference: Reference) -> None:
    places = Tank.model_validate(WATER | {"spot": [{"at_mm": (300, 300), "par": 150.0, "flow_cm_s": 60.0}]})
    (one,) = place(reference, places, [piece("p1", 1)], 0.1, 1).placements
    assert "flow 60 cm/s is strong" in one.note


def test_a_free_spot_tells_how_far_a_further_piece_may_reach(reference: Reference) -> None:
    # By hand: 500 mm between the middles, less half of 40 mm, 60 mm of reach and 50 mm of growth: 370 mm.
    plain = pinned(
        reference,
        placement_horizon=182.625,
        Favites__massive__reach_cm=6,
        Favites__massive__extension_cm_yr=10,
    )
    found = place(plain, with_spots((100, 300, 0), (600, 300, 0)), [piece("p1", 1)], 0.1, 1)
    assert [spot.room_mm for spot in found.free] == [370]

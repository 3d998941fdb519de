"""Who may share a bag. That small frags of one strain may, fixed apart, is common practice, no source."""

from dataclasses import replace

import pytest
from small_shipment import NO_PACKS, REFERENCE, inputs, piece, request

from ramet.check.plan_check import check_plan
from ramet.domain.words import Form, Gas, Stance
from ramet.services.planning.bag_options import coral_parcel
from ramet.services.planning.bagging import ways
from ramet.services.planning.candidates import find_candidates
from ramet.services.planning.grouping import ancestors, groups
from ramet.services.planning.plan import make_plan

MOTHER = piece("M", "Dock 1", "Montipora digitata", "branching", 140)
FRAGS = tuple(
    piece(f"D{k}", "Dock 1", "Montipora digitata", "branching", 40, parent="M") for k in range(1, 6)
)
WISH = request("digits", count=4, taxon="Montipora", max_length_mm=60, may_cut=False)


def grouped(pieces=(MOTHER, *FRAGS), wish=WISH, **changes):
    given = inputs(pieces, request=[wish], **changes)
    found = groups(given, find_candidates(given).candidates)
    return [tuple(one.piece for one in group) for group in found]


def test_pieces_with_a_common_ancestor_may_share() -> None:
    assert grouped()[:3] == [("D1", "D2"), ("D1", "D2", "D3"), ("D1", "D2", "D3", "D4")]


def test_a_shared_name_is_not_enough() -> None:
    assert grouped([MOTHER, *(replace(one, parent=None) for one in FRAGS)]) == []


def test_kin_that_the_stock_list_calls_otherwise_do_not_share() -> None:
    assert grouped((MOTHER, *FRAGS[:2])) == [("D1", "D2")]
    for other in ({"strain": "Dock 9"}, {"taxon": "Montipora sp."}, {"form": Form.ENCRUSTING}):
        assert grouped((MOTHER, FRAGS[0], replace(FRAGS[1], **other))) == []


def test_an_ancestor_is_found_through_pieces_long_gone_and_past_a_circle() -> None:
    line = [replace(FRAGS[0], parent="x1"), replace(FRAGS[1], parent="d1")]
    assert ancestors(line) == {"d1": "x1", "d2": "x1"}
    assert ancestors([replace(FRAGS[0], parent="D2"), replace(FRAGS[1], parent="D1")])["d1"] in {"d1", "d2"}


@pytest.mark.parametrize(
    ("taxon", "form"),
    [
        ("Sarcophyton glaucum", "leather"),
        ("Euphyllia ancora", "phaceloid"),
        ("Trachyphyllia geoffroyi", "fleshy"),
        ("Briareum stechei", "mat"),
    ],
)
def test_touchy_and_soft_kinds_never_share(taxon: str, form: str) -> None:
    kin = [piece("M", "Kin", taxon, form, 90)]
    kin += [piece(f"K{k}", "Kin", taxon, form, 40, parent="M") for k in (1, 2, 3)]
    assert grouped(kin, request("kin", count=2, taxon=taxon.split()[0], max_length_mm=60)) == []


def test_large_pieces_do_not_share() -> None:
    large = [replace(one, length_mm=75.0) for one in FRAGS]
    assert grouped([MOTHER, *large], request("digits", count=4, taxon="Montipora", max_length_mm=80)) == []


def test_the_rule_can_be_switched_off() -> None:
    assert grouped(rules={"share_bags": False}) == []


def test_at_most_six_share() -> None:
    many = [piece(f"D{k}", "Dock 1", "Montipora digitata", "branching", 40, parent="M") for k in range(1, 10)]
    found = grouped([MOTHER, *many], request("digits", count=9, taxon="Montipora", max_length_mm=60))
    assert max(len(group) for group in found) == 6


def test_a_divided_bag_has_a_pocket_for_each_and_is_as_much_water_and_gas_as_single_ones() -> None:
    given = inputs((MOTHER, *FRAGS), request=[WISH])
    two = tuple(replace(one, size_mm=(30.0, 30.0, 40.0)) for one in find_candidates(given).candidates[:2])
    pair, single = (coral_parcel(given, some).living.content for some in (two, two[:1]))
    divided = next(way for way in ways(pair, REFERENCE, 0.78, Gas.AIR, 20) if way.type.compartments == 2)
    plain = next(
        way
        for way in ways(single, REFERENCE, 0.78, Gas.AIR, 20)
        if (way.type.flat_width_mm, way.type.length_mm, way.stance)
        == (divided.type.flat_width_mm, divided.type.length_mm, divided.stance)
    )
    assert divided.water_l == pytest.approx(2 * plain.water_l, abs=0.002)
    assert divided.gas_l == pytest.approx(2 * plain.gas_l, abs=0.004)
    assert divided.stance is Stance.STANDS
    assert sorted(divided.size_mm)[0] == sorted(plain.size_mm)[0]
    assert all(way.type.compartments == 1 for way in ways(single, REFERENCE, 0.78, Gas.AIR, 20))


def test_frags_share_a_cup_where_the_box_has_room_for_one() -> None:
    small = tuple(replace(one, length_mm=25.0, width_mm=25.0, height_mm=20.0) for one in FRAGS)
    plan = make_plan(inputs((MOTHER, *small), request=[WISH], **ONE_CUP))
    assert [len(bag.pieces) for bag in plan.bags] == [3]  # four would use up the oxygen
    assert check_plan(plan, REFERENCE) == ()
    alone = make_plan(inputs((MOTHER, *small), request=[WISH], rules={"share_bags": False}, **ONE_CUP))
    assert [len(bag.pieces) for bag in alone.bags] == [1]
    assert check_plan(alone, REFERENCE) == ()


BOX = {"type": "my small one", "inner_mm": [120, 120, 130], "wall_mm": 40, "foam": "eps_i"}
ONE_CUP = {
    "box": [BOX | {"tare_kg": 0.6, "max_kg": 10}],
    "gear": {"packs": NO_PACKS, "bags": {name: int(name == "cup_950") for name in REFERENCE.bags}},
}

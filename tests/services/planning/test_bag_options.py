"""Ways to bag a candidate, and why some have none."""

from itertools import permutations

from small_shipment import (
    DIGITS,
    HONEYCOMB,
    NO_PACKS,
    OK_SMALL,
    REFERENCE,
    STOCK,
    TOADSTOOL,
    inputs,
    leg,
    piece,
    request,
    run_stages,
    small_stages,
)

from ramet.domain.words import BagClass, Gas
from ramet.services.planning.bag_options import BagOptions, find_bag_options
from ramet.services.planning.boxing import ready_boxes
from ramet.services.planning.candidates import find_candidates
from ramet.services.planning.expected_heat import equip
from ramet.services.planning.gather import Inputs


def options(given: Inputs) -> BagOptions:
    candidates = find_candidates(given).candidates
    _, heat = equip(given, candidates, ready_boxes(given))
    return find_bag_options(given, candidates, heat)


def test_every_way_holds_in_the_boxes_it_names_and_covers_the_coral() -> None:
    cover = REFERENCE.parameter("water_cover_mm").band.typical
    for parcel in small_stages().options.parcels:
        assert 1 <= len(parcel.ways) <= 5
        assert parcel.candidate is not None
        for judged in parcel.ways:
            assert judged.boxes <= {0}
            assert judged.boxes
            assert judged.margin_h >= 0
            assert max(judged.way.size_mm) > min(parcel.candidate.size_mm) + cover


def test_of_one_gas_a_larger_and_heavier_bag_is_kept_only_for_more_margin() -> None:
    for parcel in small_stages().options.parcels:
        for one, other in permutations(parcel.ways, 2):
            sides = zip(sorted(one.way.size_mm), sorted(other.way.size_mm), strict=True)
            smaller = all(a <= b for a, b in sides) and one.way.mass_g <= other.way.mass_g
            if smaller and one.way.gas is other.way.gas:
                assert other.margin_h > one.margin_h


def test_without_oxygen_at_hand_no_way_has_any() -> None:
    given = inputs(request=[HONEYCOMB], gear={"oxygen": False, "packs": NO_PACKS})
    assert {judged.way.gas for parcel in options(given).parcels for judged in parcel.ways} == {Gas.AIR}


def test_a_bag_type_of_which_none_is_left_is_not_used() -> None:
    used = {judged.way.type.id for parcel in small_stages().options.parcels for judged in parcel.ways}
    without = inputs(
        request=[HONEYCOMB], gear={"oxygen": True, "packs": NO_PACKS, "bags": dict.fromkeys(used, 0)}
    )
    left = {judged.way.type.id for parcel in options(without).parcels for judged in parcel.ways}
    assert left.isdisjoint(used)


def test_a_colony_wider_than_every_bag_is_told() -> None:
    giant = [piece(f"G{number}", "Giant 1", "Porites lobata", "massive", 420) for number in (1, 2)]
    (first, second) = options(inputs(giant, request=[request(taxon="Porites", may_cut=False)])).refusals
    assert (first.code, first.piece) == ("no_bag_fits", "G1")
    assert second.code == "no_bag_fits"
    assert first.would_fit_if


def test_a_route_that_no_bag_bears_is_told_with_the_hours_that_lack() -> None:
    frozen = inputs(request=[HONEYCOMB], leg=[leg(-20, -15)], carrier={"heat_packs": "no"})
    got = options(frozen)
    assert got.parcels == ()
    assert {one.code for one in got.refusals} == {"no_bag_holds"}
    assert all("h short of the time needed" in one.text for one in got.refusals)


def test_goods_travel_in_air_in_a_bag_of_their_own() -> None:
    media = {"name": "mesh bag", "size_mm": [110, 70, 60], "mass_g": 350, "area_m2": 0.2, "system": "north"}
    media["age_weeks"] = 60
    given = inputs(request=[HONEYCOMB], goods=[media])
    (goods,) = [parcel for parcel in options(given).parcels if parcel.goods is not None]
    assert goods.bag_class is BagClass.GOODS
    assert goods.line == 1
    assert {judged.way.gas for judged in goods.ways} == {Gas.AIR}


def test_no_parcel_holds_corals_of_two_classes() -> None:
    # Common practice, no source: stony, soft, zoanthid and stinging corals never share water.
    for parcel in small_stages().options.parcels:
        assert parcel.candidate is not None
        genus = REFERENCE.genera[parcel.candidate.taxon.split()[0]]
        assert parcel.bag_class is genus.bag_class
        if parcel.bag_class is BagClass.SOFT:
            assert all(judged.way.layers >= 2 for judged in parcel.ways)


def test_stock_alone_decides_the_options_not_the_order_of_its_rows() -> None:
    turned = inputs(tuple(reversed(STOCK)), request=[DIGITS, TOADSTOOL])
    straight = inputs(STOCK, request=[DIGITS, TOADSTOOL])
    sets = [
        {(p.id, judged.way) for p in options(given).parcels for judged in p.ways}
        for given in (turned, straight)
    ]
    assert sets[0] == sets[1]


def test_a_parcel_left_without_a_way_is_refused_once() -> None:
    stages = run_stages(inputs(request=[HONEYCOMB], leg=[leg(-20, -15)], carrier={"heat_packs": "no"}))
    names = [one.piece for one in stages.options.refusals]
    assert sorted(names) == sorted(set(names)) == ["F1", "F2"]
    assert stages.packed.loads == ()
    assert OK_SMALL.shipment.request[1].id == stages.missing[0].request

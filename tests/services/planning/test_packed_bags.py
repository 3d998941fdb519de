"""A bag as the journey model sees it: what breathes in it, in which water, and what it bears."""

from dataclasses import replace

import pytest
from small_shipment import OK_SMALL, REFERENCE, inputs, piece, request, small_stages

from ramet.domain.piece import WaterRecord
from ramet.domain.words import How, Tolerance
from ramet.services.growing.piece_areas import areas
from ramet.services.planning.candidates import find_candidates
from ramet.services.planning.packed_bags import Living, living_corals, living_goods, packed_bag, source_water


def living(taxon: str, form: str = "branching") -> Living:
    pieces = [piece(f"P{number}", "Strain 1", taxon, form, 40, heads=3) for number in (1, 2)]
    given = inputs(pieces, request=[request(form=form)])
    return living_corals(find_candidates(given).candidates[:1], given)


def levels(taxon: str, form: str = "branching") -> set[tuple[str, float, float]]:
    return {(limit.code, limit.level, limit.hours) for limit in living(taxon, form).limits}


# Common practice, no source: hardiness goes by species and strain, not by small or large polyps.
def test_branching_corals_with_small_polyps_are_not_equally_hardy() -> None:
    assert levels("Acropora millepora") != levels("Seriatopora hystrix")
    assert levels("Pocillopora damicornis") != levels("Stylophora pistillata")
    assert levels("Seriatopora hystrix") != levels("Porites cylindrica")


def test_corals_with_large_polyps_are_not_equally_hardy() -> None:
    assert levels("Caulastraea furcata", "phaceloid") != levels("Euphyllia glabrescens", "phaceloid")
    assert levels("Favites abdita", "massive") != levels("Goniopora lobata", "massive")


def test_small_and_large_polyps_meet_in_the_same_hardiness() -> None:
    assert levels("Porites cylindrica") == levels("Caulastraea furcata", "phaceloid")
    assert levels("Seriatopora hystrix") == levels("Euphyllia glabrescens", "phaceloid")


@pytest.mark.parametrize("taxon", ["Acropora millepora", "Stylophora pistillata", "Porites cylindrica"])
def test_limits_follow_the_row_of_the_genus(taxon: str) -> None:
    rows = REFERENCE.limits(REFERENCE.genera[taxon.split()[0]].tolerance)
    own = {limit.code: limit for limit in living(taxon).limits}
    for row in rows:
        if row.quantity in {"oxygen_mg_l", "opened_ammonia_umol_l"}:
            assert own[row.code].level == row.level
            assert own[row.code].hours == row.hours


def test_a_coral_of_no_known_genus_is_taken_as_ordinary() -> None:
    rows = {row.code: row for row in REFERENCE.limits(Tolerance.ORDINARY)}
    assert all(rows[limit.code].level == limit.level for limit in living("Nonesuch sp.").limits)
    assert living("Nonesuch sp.").defaults_used


def test_a_bigger_coral_breathes_more() -> None:
    small, large = (
        living_corals((replace(one, size_mm=(size, size, size)),), OK_SMALL)
        for one in small_stages().found.candidates[:1]
        for size in (30.0, 60.0)
    )
    assert large.animals[0].tissue_area_cm2.typical == pytest.approx(
        4 * small.animals[0].tissue_area_cm2.typical, rel=1e-6
    )
    assert large.content.mass_g > 4 * small.content.mass_g


def test_a_whole_piece_on_rock_brings_its_rock_and_a_cut_one_its_plug() -> None:
    one = find_candidates(OK_SMALL).candidates[0]
    on_rock = replace(one, stock=replace(one.stock, mounted_on="live rock"))
    plug = REFERENCE.parameter("plug_blank_umol_h").band
    rock = REFERENCE.parameter("rock_blank_umol_cm2_h").band
    ground = areas(REFERENCE, one.taxon, one.form, *one.size_mm, one.heads).footprint_cm2
    assert living_corals((one,), OK_SMALL).blank_umol_h == plug
    found = living_corals((on_rock,), OK_SMALL).blank_umol_h
    assert found.typical == pytest.approx(rock.typical * ground.typical)
    assert found.high / found.typical >= rock.high / rock.typical
    assert living_corals((replace(on_rock, how=How.CUT),), OK_SMALL).blank_umol_h == plug


def test_water_comes_from_the_record_of_the_system_else_from_usual_grow_out_water() -> None:
    assert source_water(OK_SMALL, "NORTH").alkalinity_meq_l == 2.9
    usual = source_water(OK_SMALL, "south")
    assert usual == WaterRecord("south", OK_SMALL.today, 25, 35, 2.8)


def test_gas_and_water_of_a_way_reach_the_model_unchanged() -> None:
    for parcel in small_stages().options.parcels:
        way = parcel.ways[0].way
        bag = packed_bag("X", way, parcel.living, OK_SMALL, 1.5)
        assert (bag.water_l, bag.gas_l, bag.layers) == (way.water_l, way.gas_l, way.layers)
        assert bag.oxygen_fraction == (0.95 if way.gas == "oxygen" else 0.2095)
        assert bag.start_c == 25.2


def test_matured_media_breathe_by_their_area_and_bear_ammonia() -> None:
    row = {"name": "media", "size_mm": [110, 70, 60], "mass_g": 350, "system": "north"}
    row = row | {"age_weeks": 30}
    given = inputs(goods=[row | {"area_m2": 0.2}, row | {"name": "double", "area_m2": 0.4}])
    one, two = (living_goods(goods, given) for goods in given.shipment.goods)
    assert two.blank_umol_h.typical == pytest.approx(2 * one.blank_umol_h.typical)
    assert one.limits
    assert not any(limit.quantity == "opened_ammonia_umol_l" for limit in one.limits)

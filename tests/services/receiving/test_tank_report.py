"""What the receiving tank says about a set of corals."""

import json
from datetime import date

import pytest
from click.testing import CliRunner

from ramet.cli.tank_command import command
from ramet.domain.errors import BadInput
from ramet.domain.piece import WaterRecord
from ramet.domain.words import Form
from ramet.formats.receiving import Tank
from ramet.formats.shipment import Goods
from ramet.formats.tank_report import Placement
from ramet.reference.tables import DATA, load_reference
from ramet.services.growing.piece_areas import areas
from ramet.services.tank import (
    ArrivingBag,
    ArrivingPiece,
    ammonia_ug_d,
    background_ueq_d,
    biofilter_room_ug_d,
    capacity_g_d,
    demand_ueq_d,
    supply_ueq_d,
    tank_report,
)
from ramet.services.tank_list import judge_list

ACROPORA = ArrivingPiece("A1", "Acropora millepora", Form.BRANCHING, (45, 35, 50), None, 250, "B1")
LEATHER = ArrivingPiece("L1", "Sarcophyton", Form.LEATHER, (50, 50, 40), None, 120, "B2")
ZOANTHID = ArrivingPiece("Z1", "Zoanthus", Form.MAT, (40, 30, 8), None, 100, "B3")
BLOCK = Goods(name="block", size_mm=(150, 100, 100), mass_g=800, age_weeks=9)


@pytest.fixture(scope="module")
def reference():
    return load_reference()


def tank(**changes):
    given = {"volume_l": 250.0, "alkalinity_dkh": 8.0, "calcium_mg_l": 420.0, "magnesium_mg_l": 1300.0}
    return Tank.model_validate(given | changes)


def zone(name, low, high):
    return {"name": name, "area_cm2": 2000, "par_low": low, "par_high": high}


def soda(most_ml_d):
    return {"name": "soda", "alkalinity_meq_l": 1868.0, "most_ml_d": most_ml_d}


def codes(cautions):
    return {one.code for one in cautions}


def test_only_what_calcifies_takes_alkalinity(reference):
    assert demand_ueq_d(reference, tank(), ACROPORA).typical > 0
    assert demand_ueq_d(reference, tank(), ZOANTHID).typical == 0


def test_demand_of_a_piece_is_contour_times_rate_times_light_times_half(reference):
    # Written out by hand from the tables: contour area × rate × light factor × newly moved factor (0.5).
    # Target light 275 of the genus middle, start at two thirds or the old 250, photoperiod 10 h.
    contour = areas(reference, "Acropora millepora", Form.BRANCHING, 45, 35, 50).contour_cm2.typical
    rate = reference.trait("Acropora millepora", Form.BRANCHING, "calcification_meq_cm2_d").band.typical
    full = contour * rate * 1000
    assert 0.3 * full < demand_ueq_d(reference, tank(), ACROPORA).typical < 0.5 * full


def test_demand_grows_with_time_and_so_does_its_doubt(reference):
    bands = [demand_ueq_d(reference, tank(), ACROPORA, day) for day in (0, 30, 90, 180)]
    typical = [band.typical for band in bands]
    assert typical == sorted(typical)
    assert typical[-1] > 3 * typical[0]
    assert all(band.low < band.typical < band.high for band in bands)


def test_the_table_of_demand_counts_corals_and_the_tank_itself(reference):
    report, _ = tank_report(reference, tank(), (), [ACROPORA])
    corals = demand_ueq_d(reference, tank(), ACROPORA).typical
    own = background_ueq_d(reference, tank()).typical
    # 1 dKH is 0.3566 meq/L.
    expected = (corals + own) / 1000 / 0.3566 / 250
    assert report.demand[0].alkalinity.typical == pytest.approx(expected, rel=2e-3)
    assert [one.day for one in report.demand] == [0, 30, 90, 180]
    # 20.04 mg Ca goes with each meq, and none with the tank's own use here.
    assert report.demand[0].calcium.typical == pytest.approx(corals / 1000 * 20.04 / 250, rel=2e-3)


def test_limewater_and_dosing_add_up(reference):
    # 1 % of 250 L a day at 40.8 meq/L is 102 meq; 20 mL of 1868 meq/L is 37.36 meq.
    both = tank(limewater=True, evaporation_share_d=0.01, dosing=(soda(20),))
    assert supply_ueq_d(reference, both) == pytest.approx(139_360, abs=2)
    assert supply_ueq_d(reference, tank()) == 0


def test_the_first_dose_meets_the_expected_use_and_no_more(reference):
    given = tank(dosing=(soda(100),))
    report, _ = tank_report(reference, given, (), [ACROPORA] * 10)
    used_meq = report.demand[0].alkalinity.typical * 0.35665 * 250
    assert report.supply[0].dose_ml_d == pytest.approx(used_meq / 1868 * 1000, abs=0.06)


def test_a_small_pump_is_outgrown_on_a_day_between_enough_and_too_little(reference):
    first = tank_report(reference, tank(), (), [ACROPORA] * 20)[0].demand
    halfway = (first[0].alkalinity.typical + first[3].alkalinity.typical) / 2
    ml_d = halfway * 0.35665 * 250 / 1868 * 1000
    report, cautions = tank_report(reference, tank(dosing=(soda(ml_d),)), (), [ACROPORA] * 20)
    assert 0 < report.supply[0].outgrown_on_day < 180
    assert "alkalinity_outgrown" in codes(cautions)
    assert "alkalinity_short" not in codes(cautions)


def test_a_tank_that_cannot_feed_them_on_day_one_says_so(reference):
    report, cautions = tank_report(reference, tank(dosing=(soda(0.5),)), (), [ACROPORA] * 20)
    assert report.supply[0].outgrown_on_day == 0
    assert "alkalinity_short" in codes(cautions)


def test_one_matured_block_is_enough_for_a_first_stocking_of_a_small_new_tank(reference):
    # Common practice, no source: one block of porous media matured two months for about 250 L, ten to
    # fifteen corals, no food yet; three are more than enough.
    first = [ACROPORA] * 8 + [LEATHER] * 4
    one, _ = tank_report(reference, tank(), (BLOCK,), first)
    three, _ = tank_report(reference, tank(), (BLOCK,) * 3, first)
    none, cautions = tank_report(reference, tank(), (), first)
    assert one.biofilter.enough
    assert one.biofilter.media_needed == 1
    assert three.biofilter.capacity.low > 10 * three.biofilter.ammonia_in.typical
    assert not none.biofilter.enough
    assert "biofilter_thin" in codes(cautions)


def test_the_mineral_supply_gives_out_before_the_biofilter(reference):
    # Common practice, no source. Twenty corals, one block, and a pump sized for half of them.
    pieces = [ACROPORA] * 20
    need = sum(demand_ueq_d(reference, tank(), piece).typical for piece in pieces)
    given = tank(dosing=(soda(0.5 * need / 1868),))
    assert supply_ueq_d(reference, given) < need
    assert sum(ammonia_ug_d(reference, piece) for piece in pieces) < biofilter_room_ug_d(
        reference, given, (BLOCK,)
    )


def test_food_alone_may_fill_the_biofilter(reference):
    assert biofilter_room_ug_d(reference, tank(food_g_d=50.0), (BLOCK,)) == 0


def test_light_goes_to_the_zone_that_suits_and_starts_low(reference):
    given = tank(zone=(zone("shade", 40, 90), zone("top", 180, 300)))
    (step,) = tank_report(reference, given, (), [ACROPORA])[0].light
    assert "top" in step.verdict
    assert step.start_par == pytest.approx(min(250, step.target_par * 2 / 3), rel=0.01)


def test_a_placed_piece_gets_the_light_of_the_zone_it_is_placed_in(reference):
    given = tank(zone=(zone("shade", 40, 90), zone("top", 180, 300)))
    spot = Placement(piece="A1", zone="shade", at_mm=(10, 10), gap_mm=50, order=1)
    report, _ = tank_report(reference, given, (), [ACROPORA], placement=[spot])
    assert report.light[0].target_par == 90


def test_of_two_zones_as_bright_the_one_that_needs_no_shade_is_taken(reference):
    wide, narrow = zone("wide", 50, 400), zone("narrow", 260, 400)
    for zones in ((wide, narrow), (narrow, wide)):
        (step,) = tank_report(reference, tank(zone=zones), (), [ACROPORA])[0].light
        assert "zone wide" in step.verdict


def test_light_far_below_the_old_one_is_a_caution_and_no_zone_another(reference):
    given = tank(zone=(zone("shade", 20, 40),))
    assert {"light_down", "no_light_zone"} <= codes(tank_report(reference, given, (), [ACROPORA])[1])


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"nitrate_mg_l": 0}, "nutrients_zero"),
        ({"phosphate_mg_l": 0}, "nutrients_zero"),
        ({"age_weeks": 6}, "young_tank"),
        ({"alkalinity_dkh": "2.5 dkh"}, "alkalinity_unit"),
    ],
)
def test_a_careful_person_would_say(reference, changes, code):
    assert code in codes(tank_report(reference, tank(**changes), (), [ACROPORA])[1])


def test_a_steady_old_tank_with_nutrients_draws_no_caution(reference):
    old = tank(
        age_weeks=60,
        nitrate_mg_l=5,
        phosphate_mg_l=0.05,
        limewater=True,
        evaporation_share_d=0.02,
        zone=(zone("top", 150, 300),),
        media=({"name": "old", "area_m2": 10, "age_weeks": 60},),
        water_change={
            "share": 0.1,
            "every_d": 7,
            "alkalinity_dkh": 8,
            "calcium_mg_l": 430,
            "magnesium_mg_l": 1350,
        },
    )
    same = WaterRecord("S1", date(2027, 1, 10), 25, 35, 8.0 * 0.35665)
    assert codes(tank_report(reference, old, (), [ACROPORA], sources=[same])[1]) == set()


def test_source_and_receiver_too_far_apart_in_alkalinity(reference):
    # Common practice, no source: more than 1.5 dKH apart. 9.6 against 8.0; 1.6 dKH at 0.5 a day: 4 days.
    apart = WaterRecord("S1", date(2027, 1, 10), 25, 35, 9.6 * 0.35665)
    found = [
        one
        for one in tank_report(reference, tank(), (), [ACROPORA], sources=[apart])[1]
        if one.code == "alkalinity_gap"
    ]
    assert len(found) == 1
    assert "at least 4 days" in found[0].text


def test_bags_are_opened_thinnest_margin_first_and_float_by_newton(reference):
    bags = [
        ArrivingBag("B1", 0.4, 22.0, 9.0),
        ArrivingBag("B2", 0.4, 24.8, 2.0),
        ArrivingBag("B3", 0.4, 19.0, 5.0),
    ]
    report, _ = tank_report(reference, tank(), (), [ACROPORA, LEATHER, ZOANTHID], bags)
    assert [one.bag for one in report.acclimation] == ["B2", "B3", "B1"]
    minutes = {one.bag: one.float_min for one in report.acclimation}
    # Within 1 °C already: none. Chilled below 21 °C: none, straight in. 3 °C apart: 10 to 30 min.
    assert minutes["B2"] == 0
    assert minutes["B3"] == 0
    assert 10 <= minutes["B1"] <= 30


def test_no_step_ever_aerates_or_drips_and_zoanthids_ask_for_gloves(reference):
    bags = [ArrivingBag("B1", 0.4, 22.0, 9.0, salinity=31.0), ArrivingBag("B3", 0.4, 24.0, 5.0)]
    report, _ = tank_report(reference, tank(), (), [ACROPORA, ZOANTHID], bags)
    steps = {one.bag: " ".join(one.steps) for one in report.acclimation}
    assert "Never aerate bag water and never drip into it" in steps["B1"]
    assert "from salinity 31.0 to 35.0" in steps["B1"]
    assert "Gloves and eye cover" in steps["B3"]
    assert "Gloves" not in steps["B1"]


def test_the_same_question_has_the_same_answer(reference):
    first, second = (tank_report(reference, tank(food_g_d=1.0), (BLOCK,), [ACROPORA, LEATHER]) for _ in "ab")
    assert first == second


# The command.

TANK = """
[tank]
volume_l = "66 gal"
alkalinity_dkh = "2.9 meq/L"
calcium_mg_l = 420
magnesium_mg_l = 1300
temperature_c = "77 °F"
limewater = true
evaporation_share_d = 0.01
media = [{ name = "old block", area_m2 = 3, age_weeks = 30 }]
"""


@pytest.fixture
def files(tmp_path):
    tank_file, stock = tmp_path / "tank.toml", tmp_path / "corals.csv"
    tank_file.write_text(TANK, encoding="utf-8")
    stock.write_text("taxon,length_mm,count,par\nAcropora millepora,45,3,250\nMontipora,2 in,,\n", "utf-8")
    return tank_file, stock


def test_a_list_and_a_tank_are_enough(files):
    answer = CliRunner().invoke(command, [str(files[0]), "--stock", str(files[1]), "--json"])
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert told["pieces"] == 4
    assert told["tank"]["volume_l"] == pytest.approx(249.8, abs=0.1)
    assert any("width_mm" in one for one in told["defaults_used"])


def test_words_say_yes_or_no_first(files):
    yes = CliRunner().invoke(command, [str(files[0]), "--stock", str(files[1])])
    assert "can take these 4 corals" in yes.output.splitlines()[0]
    poor = files[0].read_text("utf-8").replace("limewater = true\n", "")
    files[0].write_text(poor, "utf-8")
    no = CliRunner().invoke(command, [str(files[0]), "--stock", str(files[1])])
    assert "can't take" in no.output.splitlines()[0]
    assert no.exit_code == 1


def test_bad_rows_and_a_bad_tank_are_told_together_with_their_places(files, reference):
    files[0].write_text(TANK.replace('"66 gal"', "0"), "utf-8")
    files[1].write_text("taxon,length_mm\nAcrpora millepora,45\nMontipora,-3\n", "utf-8")
    with pytest.raises(BadInput) as refused:
        judge_list(reference, *files)
    told = str(refused.value)
    assert "volume_l" in told
    assert "Acropora" in told
    assert "corals.csv:3" in told


def test_a_missing_file_is_named(files, reference, tmp_path):
    with pytest.raises(BadInput, match=r"nowhere\.csv"):
        judge_list(reference, files[0], tmp_path / "nowhere.csv")


def test_a_shipment_file_will_do_for_the_tank(files, reference):
    shipment = DATA / "demo" / "shipment.toml"
    answer = judge_list(reference, shipment, files[1])
    assert answer.report.volume_l > 0
    assert len(answer.report.light) == 4


def test_a_word_out_of_place_in_the_tank_file_is_told_with_its_line(files, reference):
    files[0].write_text(TANK + "lamp = 3\n", "utf-8")
    with pytest.raises(BadInput, match=r"tank\.toml:\d+ \[tank\.lamp\]"):
        judge_list(reference, *files)


def test_no_medium_is_trusted_beyond_the_most_that_was_measured_in_seawater(reference):
    # Nijhof & Bovendeur 1990: at most 0.28 g of ammonia nitrogen per m² and day at 24 °C in seawater.
    one = tank(temperature_c=24, media=[{"name": "ripe", "area_m2": 1, "age_weeks": 52}])
    assert capacity_g_d(reference, one, ()).high <= 0.28
    assert capacity_g_d(reference, one, ()).typical == pytest.approx(0.1, rel=1e-6)


def test_media_by_their_kind_take_the_area_of_that_kind(reference):
    # Two litres of porous block at 1.2 m²/L (judged) against 2.4 m² given: the same.
    by_kind = tank(media=[{"name": "m", "kind": "porous_block", "amount": 2, "age_weeks": 20}])
    by_area = tank(media=[{"name": "m", "area_m2": 2.4, "age_weeks": 20}])
    assert capacity_g_d(reference, by_kind, ()).typical == pytest.approx(
        capacity_g_d(reference, by_area, ()).typical
    )


def test_a_longer_journey_costs_the_media_sent_more(reference):
    day, two = (capacity_g_d(reference, tank(), [BLOCK], hours).typical for hours in (24, 48))
    assert two < day
    # Half after 33 h (judged): from a day to two it falls by 2^(-24/33).
    assert two / day == pytest.approx(0.5 ** (24 / 33), rel=1e-6)

"""Trials from a file: what comes out, and what bad files are told."""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from ramet.domain.band import exactly
from ramet.domain.errors import BadInput
from ramet.domain.words import Form, Stance
from ramet.main import cli
from ramet.reference.tables import load_reference
from ramet.services.transit import TransitOrder, run_transit
from ramet.services.trials.transit_inputs import (
    animal,
    bag_geometry,
    blank_umol_h,
    limits_for,
    packed_box,
    transit_parameters,
)

REFERENCE = load_reference()

BOX = """
name = "A test box"
[ambient]
hours = [0, 24]
temperature_c = [10, 10]
[[box]]
inner_mm = [300, 300, 300]
wall_mm = 25
wall_k_w_mk = 0.036
packs = [{kind = "heat_40h", count = 2}]
[[box.bag]]
water_l = 0.5
gas_l = 1.0
start_c = "77 °F"
[[box.bag.animal]]
taxon = "Acropora tenuis"
tissue_area_cm2 = 30
"""


@pytest.fixture
def write(tmp_path):
    def written(text: str) -> Path:
        path = tmp_path / "trial.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def problems(path: Path) -> str:
    with pytest.raises(BadInput) as refused:
        run_transit(REFERENCE, path, TransitOrder(0, 1))
    return str(refused.value)


def test_a_trial_gives_every_series_from_first_to_last_hour(write):
    found = run_transit(REFERENCE, write(BOX), TransitOrder(0, 1))
    assert found.format == "ramet-transit/1"
    assert found.hours[0] == 0
    assert found.hours[-1] == 24
    assert np.diff(found.hours).max() <= 0.5
    bag = found.bags[0]
    for series in (
        bag.temperature_c,
        bag.oxygen_mg_l,
        bag.ph_total,
        bag.ammonium_umol_l,
        bag.alkalinity_meq_l,
    ):
        assert len(series) == len(found.hours)
        assert np.isfinite(series).all()
    assert bag.temperature_c[0] == pytest.approx(25.0, abs=0.01)
    assert bag.box == "box 1"
    assert len(found.boxes[0].air_c) == len(found.hours)
    assert found.percentiles is None


def test_scenarios_add_percentiles_that_enclose_the_central_run(write):
    found = run_transit(REFERENCE, write(BOX), TransitOrder(128, 1))
    assert found.percentiles is not None
    low, high = (one.bags[0].oxygen_mg_l[-1] for one in (found.percentiles.p05, found.percentiles.p95))
    assert low < found.bags[0].oxygen_mg_l[-1] < high
    assert found.percentiles.p05.bags[0].hold_h <= found.percentiles.p95.bags[0].hold_h


def test_a_bag_that_nothing_breaks_hangs_on_nothing(write):
    text = BOX.replace("[10, 10]", "[24, 24]").replace("heat_40h", "pcm_22_227g").replace("= 30\n", "= 3\n")
    found = run_transit(REFERENCE, write(text), TransitOrder(32, 1))
    assert found.percentiles is not None
    assert found.percentiles.hangs_on == ("nothing: no limit is broken",)


def test_goods_and_ice_need_no_coral(write):
    # Ice holds 0 °C while any is left: 334 kJ/kg (handbook) against 0.64 W/K over 20 K for 12 h is 1.7 kg.
    text = """
[ambient]
hours = [0, 12]
temperature_c = [20, 20]
[[box]]
inner_mm = [300, 300, 300]
wall_mm = 25
wall_k_w_mk = 0.036
[[box.mass]]
kg = 6
start_c = 0
ice_kg = 3
"""
    found = run_transit(REFERENCE, write(text), TransitOrder(0, 1))
    assert found.bags == ()
    assert 0 < found.boxes[0].air_c[-1] < 15


def test_a_bag_in_the_open_air_soon_takes_its_temperature(write):
    text = """
[ambient]
hours = [0, 12]
temperature_c = [18, 18]
[[bag]]
water_l = 0.2
gas_l = 0.4
[[bag.animal]]
taxon = "Zoanthus"
tissue_area_cm2 = 10
"""
    found = run_transit(REFERENCE, write(text), TransitOrder(0, 1))
    assert found.bags[0].box is None
    assert found.boxes == ()
    assert found.bags[0].temperature_c[-1] == pytest.approx(18.0, abs=0.1)


def test_chances_are_told_for_the_journey_and_for_a_day_more(write):
    # A bag with little gas: it may hold a day, and hardly two.
    found = run_transit(REFERENCE, write(BOX.replace("[10, 10]", "[22, 22]")), TransitOrder(128, 1))
    assert found.percentiles is not None
    (ok,), (late,) = found.percentiles.chance_ok, found.percentiles.chance_day_late
    last = found.hours[-1]
    assert 0 <= late <= ok <= 1
    assert (ok >= 0.95) == (found.percentiles.p05.bags[0].hold_h >= last)


def test_a_taxon_without_data_takes_its_class_default_and_says_so(write):
    found = run_transit(REFERENCE, write(BOX.replace("Acropora tenuis", "Madeupia nova")), TransitOrder(0, 1))
    assert "Madeupia nova: respiration_umol_cm2_h" in found.bags[0].defaults_used


def test_an_override_replaces_the_table_and_is_no_default(write):
    text = BOX + "respiration_umol_cm2_h = 4.0\n"
    usual, own = (run_transit(REFERENCE, write(one), TransitOrder(0, 1)).bags[0] for one in (BOX, text))
    assert own.oxygen_mg_l[-1] < usual.oxygen_mg_l[-1]
    assert not any("respiration" in one for one in own.defaults_used)


def test_a_coral_on_live_rock_brings_the_breath_of_its_rock(write):
    # Facts of the trade collected for this project: a frag on live rock can double its demand.
    on_plug, on_rock = (
        run_transit(REFERENCE, write(BOX + more), TransitOrder(0, 1)).bags[0]
        for more in ("", "rock_cm2 = 60\n")
    )
    assert min(on_rock.oxygen_mg_l) < min(on_plug.oxygen_mg_l)
    rock, plug = (REFERENCE.parameter(name).band for name in ("rock_blank_umol_cm2_h", "plug_blank_umol_h"))
    assert blank_umol_h(REFERENCE, exactly(60.0)).typical == pytest.approx(60 * rock.typical)
    assert blank_umol_h(REFERENCE) == plug


def test_a_bag_without_gas_is_forecast_with_a_caution(write):
    found = run_transit(REFERENCE, write(BOX.replace("gas_l = 1.0", "gas_l = 0")), TransitOrder(0, 1))
    assert "no gas" in found.bags[0].cautions[0]
    assert np.isfinite(found.bags[0].oxygen_mg_l).all()


HOLED = "hours = [0, 1, 2, 3, 90]\ntemperature_c = [10, 9, 8, 7, 3]"
BAD = [
    ("water_l = 0.5", "water_l = 0", "box[1].bag[1].water_l", "12"),
    ("water_l = 0.5", "water_l = 0.5\noxygen_fraction = 1.2", "oxygen_fraction", "13"),
    ("hours = [0, 24]", "hours = [0, -3]", "ambient.hours[2]", "4"),
    ("hours = [0, 24]\ntemperature_c = [10, 10]", HOLED, "no gap longer than 24 h", "4"),
    ("hours = [0, 24]", "hours = [0, 12, 24]", "as many temperatures as hours", "5"),
    ("hours = [0, 24]", "hours = [1, 24]", "a record starts with the journey", "4"),
    ("gas_l = 1.0", "gas_l = 90", "a bag that fits the box", "11"),
    ("gas_l = 1.0", "gas_l = 1.0\nsize_mm = [80, 80, 80]", "an outer size that holds", "14"),
    ("gas_l = 1.0", "gas_l = 1.0\nsize_mm = [110, 110, 160]\nat_mm = [250, 0, 0]", "inside the box", "15"),
    ("wall_mm = 25", "wal_mm = 25", "nearest is “wall_mm”", "8"),
    ("heat_40h", "heat_41h", "a pack of the catalogue", None),
]


@pytest.mark.parametrize(("there", "instead", "told", "line"), BAD)
def test_a_bad_trial_is_told_file_place_and_expectation(write, there, instead, told, line):
    words = problems(write(BOX.replace(there, instead)))
    assert told in words
    assert "trial.toml" in words
    assert line is None or f"trial.toml:{line} " in words


def test_the_command_answers_in_words_or_json_and_exits_by_the_answer(write):
    path = str(write(BOX))
    said = CliRunner().invoke(cli, ["transit", path, "--scenarios", "64"])
    assert said.exit_code in (0, 1)
    assert "bag 1 in box 1" in said.output
    assert "5th, 50th, 95th percentile" in said.output
    answered = CliRunner().invoke(cli, ["transit", path, "--json"])
    assert json.loads(answered.output)["format"] == "ramet-transit/1"
    frozen = str(write(BOX.replace("[10, 10]", "[-20, -20]")))
    assert CliRunner().invoke(cli, ["transit", frozen]).exit_code == 1


def test_limits_take_the_cold_and_heat_limit_of_a_taxon():
    own = REFERENCE.trait("Acropora", Form.BRANCHING, "cold_limit_c")
    limits = {one.code: one for one in limits_for(REFERENCE, "Acropora", Form.BRANCHING)}
    if not own.is_default:
        assert limits["cold"].level == own.band.typical
    assert limits["cold_at_once"].level < limits["cold"].level
    assert limits["heat_at_once"].level > limits["heat"].level


def test_geometry_of_a_round_bag_is_that_of_its_flat_width():
    # Exact geometry of the facts: flat width w filled round has cross-section w²/π; 5 in: 51 cm².
    bag = REFERENCE.bags["round_127x305"]
    standing = bag_geometry(bag, Stance.STANDS, 0.2, 0.4)
    assert standing.surface_cm2 == pytest.approx(12.7**2 / np.pi, rel=1e-9)
    half = bag_geometry(bag, Stance.LIES, 0.3, 0.3)
    long_cm = 600 / standing.surface_cm2
    assert half.surface_cm2 == pytest.approx(2 * 12.7 / np.pi * long_cm, rel=1e-6)


def test_boxes_and_animals_come_from_the_reference():
    coral, used = animal(REFERENCE, "Pocillopora damicornis", Form.BRANCHING, exactly(30.0), exactly(30.0))
    assert (
        coral.respiration_umol_cm2_h
        == REFERENCE.trait("Pocillopora damicornis", Form.BRANCHING, "respiration_umol_cm2_h").band
    )
    assert all(text.startswith("Pocillopora damicornis: ") for text in used)
    box = packed_box(
        REFERENCE, "b", (300, 300, 300), 25, REFERENCE.foams["eps_i"], (), {"heat_40h": 2, "gel_227g": 1}
    )
    assert len(box.heat_packs) == 2
    assert box.cold_packs[0].cp_solid_j_kgk == 2100
    assert (
        transit_parameters(REFERENCE).kl_carried_cm_h.typical
        > transit_parameters(REFERENCE).kl_still_cm_h.typical
    )

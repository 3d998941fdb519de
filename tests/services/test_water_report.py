"""`ramet water`: what it tells, what it refuses, and how units are read."""

import json

import pytest
from click.testing import CliRunner

from ramet.cli.water_command import command
from ramet.domain.errors import OutOfRange
from ramet.services.water import describe_water, salinity_of


def run(*words: str):
    return CliRunner().invoke(command, list(words))


def test_an_ordinary_reef_water_has_the_values_of_its_references():
    # gsw: 1023.34 kg/m³, 206.77 µmol/kg O2; PyCO2SYS: 2300 µmol/L at pH 8.1 gives 1920 µmol/kg carbon;
    # k_ammonia 5.677e-10 gives a share of 0.0667. Each to its last printed digit.
    report = describe_water(25, 35, 8.1, 2.3)
    assert report.value("density_kg_m3") == pytest.approx(1023.34, abs=0.005)
    assert report.value("oxygen_saturation_umol_kg") == pytest.approx(206.77, abs=0.005)
    assert report.value("dic_umol_kg") == pytest.approx(1920, abs=1)
    assert report.value("unionised_ammonia_share") == pytest.approx(0.0667, abs=0.0001)


def test_what_is_not_asked_for_is_not_told():
    keys = {one.key for one in describe_water(25, 35).values}
    assert "density_kg_m3" in keys
    assert "unionised_ammonia_share" not in keys
    keys = {one.key for one in describe_water(25, 35, 8.1).values}
    assert "unionised_ammonia_share" in keys
    assert "dic_umol_kg" not in keys


@pytest.mark.parametrize(
    ("water", "quantity"),
    [
        ((45, 35), "temperature"),
        ((25, 50), "salinity"),
        ((36, 35, 8.1, 2.3), "temperature"),
        ((25, 15, 8.1, 2.3), "salinity"),
        ((25, 35, 12.0, 2.3), "pH"),
        ((25, 35, 8.1, 8.0), "alkalinity"),
        ((float("nan"), 35), "temperature"),
    ],
)
def test_water_outside_the_range_of_a_relation_is_refused_by_name(water, quantity):
    with pytest.raises(OutOfRange) as refused:
        describe_water(*water)
    assert refused.value.quantity.startswith(quantity)
    assert refused.value.exit_code == 2


def test_warm_water_without_ph_needs_no_carbonate_range():
    assert describe_water(38, 35).value("density_kg_m3") < 1020


def test_json_tells_value_unit_source_and_range_of_each():
    answer = run("--temperature", "25", "--salinity", "35", "--ph", "8.1", "--alkalinity", "2.3", "--json")
    assert answer.exit_code == 0
    values = json.loads(answer.stdout)["values"]
    assert {"value", "unit", "source", "temperature_range_c", "salinity_range"} <= set(values["dic_umol_kg"])
    assert all(one["source"] for one in values.values())


def test_american_units_and_degrees_of_hardness_mean_the_same_water():
    plain = run("--temperature", "25", "--salinity", "35", "--ph", "8.1", "--alkalinity", "2.3", "--json")
    other = run(
        "--temperature", "77 °F", "--salinity", "35 ppt", "--ph", "8.1", "--alkalinity", "6.449 dKH", "--json"
    )
    one, two = (json.loads(answer.stdout)["values"] for answer in (plain, other))
    for key in one:
        assert two[key]["value"] == pytest.approx(one[key]["value"], rel=1e-4), key


def test_a_specific_gravity_is_read_with_the_temperature_and_never_guessed():
    assert salinity_of(1.0264, True, 25) == pytest.approx(35, abs=0.1)
    guessed = run("--temperature", "25", "--salinity", "1.026")
    assert guessed.exit_code == 2
    assert "1.026 sg" in guessed.output


def test_a_probe_set_with_bottle_buffers_is_read_on_its_own_scale():
    given = ("--temperature", "25", "--salinity", "34", "--ph", "8.3", "--ph-scale", "nbs", "--json")
    told = json.loads(run(*given).stdout)
    assert told["ph_total"] == pytest.approx(8.162, abs=0.001)
    # Bower & Bidwell 1978 print 8.18 % for this reading; 11 % as in the tests of the relation itself.
    assert told["values"]["unionised_ammonia_share"]["value"] == pytest.approx(0.0818, rel=0.11)


@pytest.mark.parametrize("text", ["warm", "25 mg/l", ""])
def test_a_temperature_that_is_none_is_refused_with_what_is_expected(text):
    answer = run("--temperature", text, "--salinity", "35")
    assert answer.exit_code == 2
    assert "expected" in answer.output


def test_the_table_names_its_sources_once():
    answer = run("--temperature", "25", "--salinity", "35", "--ph", "8.1", "--alkalinity", "2.3")
    assert answer.output.count("Clegg & Whitfield 1995") == 1
    assert "total scale" in answer.output

"""`ramet transit` as a user meets it: what bad files are told, the exit codes, and no NaN in any answer."""

import json
import math
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from trial_text import COLD, WARM

from ramet.main import main


@pytest.fixture
def ramet(monkeypatch, capsys, tmp_path):
    """Run the command in a folder of its own and return exit code, standard output and standard error."""
    monkeypatch.chdir(tmp_path)

    def run(text: str, *options: str) -> tuple[int, str, str]:
        Path("trial.toml").write_text(text, encoding="utf-8")
        monkeypatch.setattr(sys, "argv", ["ramet", "transit", "trial.toml", *options])
        with pytest.raises(SystemExit) as left:
            main()
        said = capsys.readouterr()
        return int(left.value.code or 0), said.out, said.err

    return run


FILE = WARM.replace("hours = [0, 24]\ntemperature_c = [24, 24]", 'file = "weather.csv"')
BAD = [
    ("empty bag", WARM.replace("water_l = 0.4", "water_l = 0"), ":11 [box[1].bag[1].water_l]", "above 0"),
    (
        "a coral in a drop",
        WARM.replace("water_l = 0.4", "water_l = 0.001"),
        "water_l]",
        "damp corals are not",
    ),
    ("gas below none", WARM.replace("gas_l = 0.2", "gas_l = -0.2"), ":12 ", "of at least 0"),
    ("gas fraction above 1", WARM + "oxygen_fraction = 1.1\n", ":16 ", "a known key"),
    (
        "oxygen above 1",
        WARM.replace("gas_l = 0.2", "gas_l = 0.2\noxygen_fraction = 1.1"),
        ":13 [box[1].bag[1].oxygen_fraction]",
        "from 0 to 1",
    ),
    ("negative time", WARM.replace("[0, 24]", "[-1, 24]"), ":3 [ambient.hours[1]]", "of at least 0"),
    (
        "gap",
        WARM.replace("[0, 24]", "[0, 1, 2, 3, 49]").replace("[24, 24]", "[24, 24, 23, 22, 15]"),
        ":3 [ambient.hours[5]]",
        "no gap longer than 24 h",
    ),
    (
        "unsorted",
        WARM.replace("[0, 24]", "[0, 24, 12]").replace("[24, 24]", "[24, 24, 24]"),
        ":3 [ambient.hours[3]]",
        "rising order",
    ),
    ("not a number", WARM.replace("[24, 24]", "[24, nan]"), ":4 ", "a number from -60 to 70"),
    ("endless", WARM.replace("[0, 24]", "[0, inf]"), ":3 ", "a number"),
    ("bag larger than the box", WARM.replace("gas_l = 0.2", "gas_l = 30"), "[box[1].bag[1]]", "fits the box"),
    (
        "no air at all",
        WARM.replace("hours = [0, 24]\ntemperature_c = [24, 24]", ""),
        "[ambient]",
        "one source",
    ),
    (
        "two airs",
        WARM.replace("hours = [0, 24]", 'hours = [0, 24]\nfile = "x.csv"'),
        "ambient.file",
        "one source",
    ),
    ("file that is not there", FILE, "weather.csv", "that exists"),
    (
        "place without month",
        WARM.replace("hours = [0, 24]\ntemperature_c = [24, 24]", 'place = "Chicago"\nlasts_h = 20'),
        "ambient.month",
        "normals are by month",
    ),
    (
        "month 13",
        WARM.replace(
            "hours = [0, 24]\ntemperature_c = [24, 24]", 'place = "Chicago"\nmonth = 13\nlasts_h = 20'
        ),
        "ambient.month",
        "from 1 to 12",
    ),
]


@pytest.mark.parametrize(("text", "place", "told"), [one[1:] for one in BAD], ids=[one[0] for one in BAD])
def test_bad_input_is_told_its_place_and_exits_with_2(ramet, text, place, told):
    code, out, err = ramet(text)
    assert code == 2
    assert out == ""
    assert place in err
    assert told in err
    assert "Traceback" not in err


def test_a_bad_line_of_a_weather_file_is_told(ramet, tmp_path):
    (tmp_path / "weather.csv").write_text("hours,temperature_c\n0,20\n1,20\n13,21\n6,22\n", encoding="utf-8")
    code, _, err = ramet(FILE)
    assert code == 2
    assert "weather.csv:4 [hours]: found “13”; expected no gap longer than 6 h" in err
    assert "weather.csv:5 [hours]: found “6”; expected a time after that of the line before, 13" in err


def test_a_weather_file_moves_the_bag(ramet, tmp_path):
    (tmp_path / "weather.csv").write_text("hours,temperature_f\n0,68\n6,50\n12,50\n", encoding="utf-8")
    code, out, _ = ramet(FILE, "--json")
    answer = json.loads(out)
    assert code in (0, 1)
    assert answer["hours"][-1] == 12
    assert answer["ambient_c"][0] == pytest.approx(20)
    assert answer["ambient_c"][-1] == pytest.approx(10)
    assert answer["weather"]["words"] == "record weather.csv"


def test_no_gas_at_all_and_an_unknown_taxon_are_flagged_not_refused(ramet):
    text = WARM.replace("gas_l = 0.2", "gas_l = 0").replace("Acropora tenuis", "Nemo nullius")
    code, out, _ = ramet(text)
    assert code == 1
    assert "There is no gas in this bag" in out
    assert "class defaults: Nemo nullius: respiration_umol_cm2_h" in out


def numbers(value: object) -> Iterator[float]:
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for one in value:
            yield from numbers(one)
    elif isinstance(value, float):
        yield value


@pytest.mark.parametrize(
    "text",
    [
        WARM.replace("gas_l = 0.2", "gas_l = 0"),
        WARM.replace("= 60", "= 0"),
        WARM.replace("= 60", "= 1500"),
        WARM.replace("water_l = 0.4", "water_l = 0.016"),
        WARM.replace("[24, 24]", "[-60, 70]"),
        WARM.replace("gas_l = 0.2", "gas_l = 0.2\noxygen_fraction = 0"),
        WARM.replace("gas_l = 0.2", "gas_l = 0.2\noxygen_fraction = 1"),
    ],
)
def test_no_answer_holds_a_number_that_is_none(ramet, text):
    code, out, _ = ramet(text, "--json", "--what-if", "--scenarios", "16")
    assert code in (0, 1)
    assert "NaN" not in out
    answer = json.loads(out)
    assert all(math.isfinite(one) for one in numbers(answer))
    assert {row["change"] for row in answer["what_ifs"]} >= {"as_written", "more_heat", "depot"}


def test_what_ifs_and_the_usual_way_are_shown_beside_the_trial(ramet, tmp_path):
    (tmp_path / "usual.toml").write_text('name = "our habit"\nwater_share = 0.8\n', encoding="utf-8")
    code, out, err = ramet(COLD, "--what-if", "--usual", "usual.toml", "--plot", "out.svg")
    assert code == 1
    assert "one more heat pack in each box (heat_40h)" in out
    assert "Beside our habit: 80 % water" in out
    assert "the hold hangs on" in out
    assert "wrote out.svg" in err
    assert (tmp_path / "out.svg").read_text(encoding="utf-8").startswith("<svg")


def test_a_plot_that_cannot_be_written_is_told(ramet):
    code, _, err = ramet(COLD, "--plot", "nowhere/out.svg")
    assert code == 2
    assert "nowhere/out.svg" in err


def test_the_same_question_twice_has_the_same_answer(ramet):
    first = ramet(COLD, "--json", "--scenarios", "32", "--what-if")
    assert first == ramet(COLD, "--json", "--scenarios", "32", "--what-if")

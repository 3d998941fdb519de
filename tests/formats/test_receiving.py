"""The receiving tank's table: what is worked out, what is asked back, what is refused, and where."""

from pathlib import Path

import pytest

from ramet.formats.receiving import Tank
from ramet.formats.tank import TankFile
from ramet.formats.toml_reader import read_toml

WATER = "alkalinity_dkh = 8\ncalcium_mg_l = 420\nmagnesium_mg_l = 1300\n"
LAMP = "[[tank.lamp]]\nat_mm = [300, 200]\nabove_water_mm = 200\n"


def reading(x: int, par: int) -> str:
    return f"[[tank.reading]]\nat_mm = [{x}, 200]\nheight_mm = 100\npar = {par}\n"


def told(folder: Path, text: str) -> str:
    """Return the problems of a tank file, one a line."""
    path = folder / "tank.toml"
    path.write_text("[tank]\n" + text, "utf-8")
    read = read_toml(path, TankFile)
    assert isinstance(read, tuple)
    return "\n".join(map(str, read))


def tank(folder: Path, text: str) -> Tank:
    path = folder / "tank.toml"
    path.write_text("[tank]\n" + text, "utf-8")
    read = read_toml(path, TankFile)
    assert isinstance(read, TankFile), "\n".join(map(str, read))
    return read.tank


def test_net_volume_is_display_and_sump_less_what_rock_displaces(tmp_path: Path) -> None:
    # 120 × 60 × 50 cm are 360 L; with 60 L of sump, less 80 L of rock: 340 L.
    parts = "length_mm = 1200\nwidth_mm = 600\ndepth_mm = 500\nsump_l = 60\ndisplaced_l = 80\n"
    assert tank(tmp_path, parts + WATER).volume_l == pytest.approx(340)
    assert tank(tmp_path, 'display_l = "100 gal"\n' + WATER).volume_l == pytest.approx(378.5, abs=0.1)


def test_a_net_volume_that_its_parts_contradict_is_told(tmp_path: Path) -> None:
    text = told(tmp_path, "volume_l = 300\ndisplay_l = 200\n" + WATER)
    assert "tank.toml:2 [tank.volume_l]" in text
    assert "200 L" in text


def test_salinity_may_be_a_hydrometers_reading_at_the_tanks_temperature(tmp_path: Path) -> None:
    # A t/t reading of 1.0264 at 25 °C is salinity 35.0 (TEOS-10: 35.04).
    warm = 'volume_l = 200\ntemperature_c = "77 °F"\nsalinity = "1.0264 sg"\n' + WATER
    assert tank(tmp_path, warm).salinity == pytest.approx(35.0, abs=0.1)


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("volume_l = 0\n" + WATER, "tank.toml:2 [tank.volume_l]", "above 0"),
        (WATER, "[tank.volume_l]", "display_l"),
        ("depth_mm = 100\ndisplaced_l = 900\n" + WATER, "[tank.volume_l]", "displaced_l"),
        ('volume_l = 9\nsalinity = "1.3 sg"\n' + WATER, "tank.toml:3 [tank.salinity]", "expected 1 to 1.03"),
        ('volume_l = 9\nsalinity = "salty"\n' + WATER, "tank.toml:3 [tank.salinity]", "1.0264 sg"),
        (
            "volume_l = 9\n" + WATER + '[[tank.dosing]]\nname = "soda"\nmost_ml_d = -3\n',
            "[tank.dosing[1].most_ml_d]",
            "at least 0",
        ),
        (
            "volume_l = 9\n"
            + WATER
            + '[[tank.dosing]]\nname = "soda"\nmost_ml_d = 3\ngrams_per_l = { salt = 3 }\n',
            "[tank.dosing[1].grams_per_l",
            "sodium_carbonate",
        ),
        (
            "volume_l = 9\ndepth_mm = 500\n" + WATER + LAMP + reading(300, 200),
            "[tank.reading]",
            "at least 2 readings at different places",
        ),
        (
            "volume_l = 9\ndepth_mm = 500\n" + WATER + LAMP + reading(300, 200) + reading(300, 210),
            "[tank.reading]",
            "one reading can't tell",
        ),
        (
            "volume_l = 9\n" + WATER + LAMP + reading(300, 200) + reading(400, 150),
            "[tank.depth_mm]",
            "light map",
        ),
        (
            "volume_l = 9\n" + WATER + "[[tank.spot]]\nat_mm = [1300, 20]\n",
            "[tank.spot[1].at_mm]",
            "1200 along",
        ),
        (
            "volume_l = 9\n" + WATER + "[[tank.spot]]\nat_mm = [10, 20]\n[[tank.spot]]\nat_mm = [10, 20]\n",
            "[tank.spot[2].at_mm]",
            "no other spot",
        ),
        (
            "volume_l = 9\n" + WATER + '[[tank.spot]]\nat_mm = [10, 20]\nzone = "attic"\n',
            "[tank.spot[1].zone]",
            "none is given",
        ),
        ("volume_l = 9\nrock_heights_mm = [[1, 2], [3]]\n" + WATER, "[tank.rock_heights_mm]", "equally many"),
        (
            "volume_l = 9\n" + WATER + '[[tank.media]]\nname = "m"\nage_weeks = 2\n',
            "media[1].area_m2",
            "kind",
        ),
    ],
)
def test_bad_input_is_told_with_its_place_and_what_is_expected(
    tmp_path: Path, text: str, place: str, words: str
) -> None:
    problems = told(tmp_path, text)
    assert place in problems
    assert words in problems


def test_degrees_that_look_like_milliequivalents_in_seawater_are_asked_back(tmp_path: Path) -> None:
    water = WATER.replace("= 8", "= 2.5")
    text = told(tmp_path, "volume_l = 200\n" + water)
    assert "which unit is this?" in text
    assert "7.0 dKH" in text
    assert '"2.5 meq/l"' in text


def test_the_same_number_with_a_unit_or_in_brackish_water_is_taken_at_its_word(tmp_path: Path) -> None:
    low = "volume_l = 200\n" + WATER.replace("= 8", '= "2.5 dkh"')
    meq = "volume_l = 200\n" + WATER.replace("= 8", '= "2.5 meq/l"')
    brackish = "volume_l = 200\nsalinity = 12\n" + WATER.replace("= 8", "= 2.5")
    assert tank(tmp_path, low).alkalinity_dkh == 2.5
    assert tank(tmp_path, meq).alkalinity_dkh == pytest.approx(7.0, abs=0.02)
    assert tank(tmp_path, brackish).alkalinity_dkh == 2.5

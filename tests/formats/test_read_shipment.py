"""Reading a shipment: what is good is read, what is wrong is told with file, line, key, value and remedy."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_texts import WITH_UNITS, line_of, with_units_but

from ramet.domain.problems import Problem
from ramet.formats.shipment import Shipment
from ramet.formats.toml_reader import read_toml


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shipment.toml"


def problems(path: Path, text: str) -> tuple[Problem, ...]:
    path.write_text(text, encoding="utf-8")
    found = read_toml(path, Shipment)
    assert isinstance(found, tuple), "the file was read without a problem"
    return found


def only(path: Path, text: str) -> Problem:
    found = problems(path, text)
    assert len(found) == 1, [str(one) for one in found]
    return found[0]


def read(path: Path, text: str) -> Shipment:
    path.write_text(text, encoding="utf-8")
    found = read_toml(path, Shipment)
    assert isinstance(found, Shipment), found
    return found


def test_metric_and_us_units_are_read(path: Path) -> None:
    shipment = read(path, WITH_UNITS)
    # 1 US gal = 3.785 412 L, 1 in = 25.4 mm, (40 °F - 32) / 1.8: NIST SP 811 (2008), appendix B.8.
    assert shipment.tank.volume_l == pytest.approx(378.5412, abs=1e-4)
    assert shipment.box[0].inner_mm == pytest.approx((304.8, 305, 305))
    assert shipment.leg[0].low_c == pytest.approx(4.4444, abs=1e-4)


def test_a_party_may_be_a_name_or_a_table(path: Path) -> None:
    named = read(path, WITH_UNITS)
    assert named.receiver.name == "Plains Library"
    table = read(
        path, with_units_but('receiver = "Plains Library"', 'receiver = {name = "P", lay_hands = true}')
    )
    assert table.receiver.lay_hands


def test_a_byte_order_mark_is_no_problem(path: Path) -> None:
    path.write_text(WITH_UNITS, encoding="utf-8-sig")
    assert isinstance(read_toml(path, Shipment), Shipment)


def test_line_ends_of_windows_are_no_problem(path: Path) -> None:
    path.write_bytes(with_units_but("count = 2", "count = 0").replace("\n", "\r\n").encode())
    found = read_toml(path, Shipment)
    assert isinstance(found, tuple)
    assert found[0].place.line == line_of(WITH_UNITS, "count = 2")


def test_a_missing_file(path: Path) -> None:
    found = read_toml(path, Shipment)
    assert isinstance(found, tuple)
    assert str(found[0]) == f"{path}: nothing there; expected a file at this path"


def test_a_folder(tmp_path: Path) -> None:
    found = read_toml(tmp_path, Shipment)
    assert isinstance(found, tuple)
    assert found[0].value == "a folder"


def test_not_utf8_names_line_and_byte(path: Path) -> None:
    path.write_bytes(b'name = "a"\nreceiver = "caf\xe9"\n')
    found = read_toml(path, Shipment)
    assert isinstance(found, tuple)
    assert found[0].place.line == 2
    assert found[0].value == "byte 0xE9 at position 27"
    assert found[0].expected == "text saved as UTF-8"


@pytest.mark.parametrize(
    ("text", "line"),
    [("a = 1\nb = \n", 2), ("a = 1\n\nc d\n", 3), ("a = 1\na = 2\n", 2), ("[x\n", 1), ("x = '''\n", 1)],
)
def test_broken_toml_names_its_line(path: Path, text: str, line: int) -> None:
    found = only(path, text)
    assert found.place.line == line
    assert found.expected.startswith("valid TOML")


def test_an_unknown_key_gets_its_nearest(path: Path) -> None:
    text = with_units_but('volume_l = "100 gal"', 'volume_l = "100 gal"\nphotoperoid_h = 9')
    found = only(path, text)
    assert found.place.line == line_of(text, "photoperoid_h")
    assert found.place.column == "tank.photoperoid_h"
    assert found.expected == "a known key; nearest is “photoperiod_h”"


def test_an_unknown_key_like_no_other_gets_the_list(path: Path) -> None:
    found = only(path, with_units_but("count = 2", "count = 2\nzzz = 1"))
    assert found.place.column == "request[1].zzz"
    assert "min_length_mm" in found.expected
    assert "class" in found.expected
    assert "bag_class" not in found.expected


WRONG = [
    ('volume_l = "100 gal"', "volume_l = 0", "tank.volume_l", "0", "a number above 0 in litres"),
    ('volume_l = "100 gal"', 'volume_l = "0 gal"', "tank.volume_l", "0 gal", "a number above 0 in litres"),
    ('volume_l = "100 gal"', 'volume_l = "100"', "tank.volume_l", "100", "a number, or text with a unit"),
    (
        'volume_l = "100 gal"',
        'volume_l = "100 dkh"',
        "tank.volume_l",
        "100 dkh",
        "a unit out of: gal, l, m3, ml",
    ),
    ('volume_l = "100 gal"', "volume_l = true", "tank.volume_l", "true", "a number above 0 in litres"),
    ('volume_l = "100 gal"', "volume_l = inf", "tank.volume_l", "inf", "a number above 0 in litres"),
    (
        "alkalinity_dkh = 8",
        "alkalinity_dkh = nan",
        "tank.alkalinity_dkh",
        "nan",
        "a number from 0 to 30 in dKH",
    ),
    ("alkalinity_dkh = 8", "", "tank.alkalinity_dkh", None, "a number from 0 to 30 in dKH"),
    ("count = 2", "count = -1", "request[1].count", "-1", "a whole number from 1 to 200"),
    ("count = 2", 'count = "2"', "request[1].count", "2", "a whole number from 1 to 200"),
    ("count = 2", "count = 2.5", "request[1].count", "2.5", "a whole number from 1 to 200"),
    ('rank = "must"', 'rank = "shall"', "request[1].rank", "shall", "one of: must, want, filler"),
    ('taxon = "Acropora"', "", "request[1]", None, "at least one of the keys strain, taxon, form, class"),
    ('taxon = "Acropora"', 'class = "hard"', "request[1].class", "hard", "one of: stony, soft, zoanthid"),
    ("count = 1", "count = 0", "box[1].count", "0", "at least one box"),
    (
        'inner_mm = ["12 in", 305, "30.5 cm"]',
        "inner_mm = [1, -2, 3]",
        "box[1].inner_mm[2]",
        "-2",
        "above 0 in mm",
    ),
    (
        'inner_mm = ["12 in", 305, "30.5 cm"]',
        "inner_mm = [1, 2]",
        "box[1].inner_mm[3]",
        None,
        "above 0 in mm",
    ),
    ('receiver = "Plains Library"', "receiver = 5", "receiver", "5", "a name in quotes, or a table"),
    ('taxon = "Acropora"', 'taxon = ["a"]', "request[1].taxon", "a list of 1", "text in quotes"),
    ("high_c = 12", "high_c = 1", "leg[1].high_c", "1", "not below low_c, 4.44444 °C"),
    (
        'surroundings = "depot"',
        'surroundings = "moon"',
        "leg[2].surroundings",
        "moon",
        "one of: indoors, vehicle",
    ),
    ('name = "depot"', 'name = "van"', "leg[2].name", "van", "a name that no other leg has"),
    (
        "due = 2027-01-20T11:00:00-07:00",
        "due = 2027-01-20T11:00:00",
        "due",
        "2027-01-20T11:00:00",
        "a date and time with an offset",
    ),
    ("due = 2027-01-20T11:00:00-07:00", "due = 5", "due", "5", "a date and time with an offset"),
    (
        "start = 2027-01-19T19:30:00-06:00",
        "start = 2027-01-19T20:30:00-06:00",
        "leg[2].start",
        "2027-01-19T20:30:00-06:00",
        "the time at which the leg before it, “van”, ends: 2027-01-19T19:30:00-06:00",
    ),
    (
        "end = 2027-01-20T10:00:00-07:00",
        "end = 2027-01-20T12:00:00-07:00",
        "leg[2].end",
        "2027-01-20T12:00:00-07:00",
        "a time not after due, 2027-01-20T11:00:00-07:00",
    ),
]


@pytest.mark.parametrize(("old", "new", "column", "value", "expected"), WRONG)
def test_a_wrong_value_is_told_with_its_place(
    path: Path, old: str, new: str, column: str, value: str | None, expected: str
) -> None:
    text = with_units_but(old, new)
    found = only(path, text)
    assert found.place.file == str(path)
    assert found.place.column == column
    assert found.value == value
    assert expected in found.expected
    if new:
        assert found.place.line == WITH_UNITS.split("\n").index(old) + 1


def test_a_delay_names_a_leg(path: Path) -> None:
    found = only(path, WITH_UNITS + '\n[delay]\nat_leg = "hub"\n')
    assert found.place.column == "delay.at_leg"
    assert found.expected == "the name of a leg, out of: van, depot"


def test_chances_of_delay_add_up_to_one_at_most(path: Path) -> None:
    found = only(
        path, WITH_UNITS + '\n[delay]\nat_leg = "van"\nhours_late_chance = 0.8\nday_late_chance = 0.3\n'
    )
    assert found.expected == "chances that add up to at most 1"


def test_request_ids_differ_whatever_their_case(path: Path) -> None:
    again = '\n[[request]]\nid = "BRANCHING"\nrank = "want"\ncount = 1\nform = "mat"\n'
    found = only(path, WITH_UNITS + again)
    assert found.place.column == "request[2].id"
    assert found.place.line == line_of(WITH_UNITS + again, "BRANCHING")


def test_a_request_line_with_sizes_crossed(path: Path) -> None:
    found = only(path, with_units_but("count = 2", 'count = 2\nmin_length_mm = "2 in"\nmax_length_mm = 40'))
    assert found.place.column == "request[1].min_length_mm"
    assert found.expected == "a length not above max_length_mm, 40"


def test_all_problems_are_told_at_once_in_order_of_lines(path: Path) -> None:
    text = (
        WITH_UNITS.replace("count = 1", "count = 0")
        .replace("high_c = 12", "high_c = 99")
        .replace("[tank]", "[tank]\nsise = 1")
    )
    found = problems(path, text)
    assert [one.place.column for one in found] == ["tank.sise", "box[1].count", "leg[1].high_c"]
    assert [one.place.line for one in found] == sorted(one.place.line or 0 for one in found)


def test_an_empty_file_names_every_missing_key(path: Path) -> None:
    missing = {one.place.column for one in problems(path, "")}
    assert missing == {"name", "due", "receiver", "tank", "request", "box", "leg"}


@pytest.mark.parametrize("jargon", ["Input should", "input_type", "type=", "validation", "pydantic", "None"])
def test_no_message_speaks_in_the_words_of_a_library(path: Path, jargon: str) -> None:
    for old, new, *_ in WRONG:
        assert all(jargon not in str(one) for one in problems(path, with_units_but(old, new)))


@given(st.text(st.characters(codec="utf-8"), max_size=60))
def test_no_text_whatever_ends_in_an_exception(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:  # a fresh one for every example
        file = Path(folder) / "shipment.toml"
        file.write_text(text, encoding="utf-8")
        found = read_toml(file, Shipment)
    assert isinstance(found, tuple)
    assert found
    assert all(isinstance(one, Problem) for one in found)


@given(
    st.lists(st.sampled_from([*WITH_UNITS.split("\n"), "x = [", "y = {a = 1}", '"', "[tank]"]), max_size=30)
)
def test_no_shuffle_of_lines_ends_in_an_exception(lines: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:  # a fresh one for every example
        file = Path(folder) / "shipment.toml"
        file.write_text("\n".join(lines), encoding="utf-8")
        found = read_toml(file, Shipment)
    assert isinstance(found, Shipment) or all(isinstance(one, Problem) for one in found)

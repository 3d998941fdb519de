"""A slip in a table is reported with file, line and column, and all slips together."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.band import Band
from ramet.domain.errors import BrokenTable
from ramet.domain.problems import Problem
from ramet.reference.rows import Row, read_rows
from ramet.reference.tables import load_folder


def problems_of(folder: Path) -> list[Problem]:
    with pytest.raises(BrokenTable) as caught:
        load_folder(folder)
    return list(caught.value.problems)


def append(folder: Path, name: str, row: str) -> int:
    """Add a row to a table and return its line."""
    path = folder / name
    text = path.read_text(encoding="utf-8")
    path.write_text(text + row + "\n", encoding="utf-8")
    return text.count("\n") + 1


@pytest.mark.parametrize(
    ("name", "row", "column", "expected"),
    [
        ("traits.csv", "Acropora,table,q10,1,2,1.5,3,memory,estimate", "typical", "low <= typical <= high"),
        ("traits.csv", "Acropora,table,q10,1,0.5,2,3,memory,estimate", "low", "from 1 to 6"),
        ("traits.csv", "Acropora,table,q10,1,1,2,much,memory,estimate", "high", "from 1 to 6"),
        ("traits.csv", "Acropora,table,q10,1,1,2,nan,memory,estimate", "high", "from 1 to 6"),
        ("traits.csv", "Acropora,table,q10,per day,1,2,3,memory,estimate", "unit", "unit of q10: 1"),
        ("traits.csv", "Acropora,bushy,q10,1,1,2,3,memory,estimate", "form", "branching"),
        ("traits.csv", "Acropora,table,vigour,1,1,2,3,memory,estimate", "trait", "respiration_umol_cm2_h"),
        ("traits.csv", "Acropora,table,q10,1,1,2,3,nowhere,estimate", "source", "SOURCES.csv"),
        ("traits.csv", "Acropora,table,q10,1,1,2,3,,estimate", "source", "some text"),
        ("traits.csv", "Acropora,table,q10,1,1,2,3,memory,certain", "grade", "published, practice, estimate"),
        ("traits.csv", "Acropora,table,q10,1,1,2,3,memory,published", "grade", "not a publication"),
        ("traits.csv", "Acropra,table,q10,1,1,2,3,memory,estimate", "subject", "genera.csv"),
        ("traits.csv", "class:shrubs,,q10,1,1,2,3,memory,estimate", "subject", "genera.csv"),
        ("traits.csv", "class:leather,,q10,1,1,2,3,memory,estimate", "subject", "not there twice"),
        (
            "genera.csv",
            "acropora,Acroporidae,acropora,stony,branching,hardy,II,,yes,memory,estimate",
            "genus",
            "capitalised",
        ),
        (
            "genera.csv",
            "Newgenus,Newidae,acropora,stony,branching,hardy,IV,,yes,memory,estimate",
            "cites",
            "I, II, III",
        ),
        (
            "genera.csv",
            "Newgenus,Newidae,acropora,stony,branching,hardy,II,,perhaps,memory,estimate",
            "symbiotic",
            "yes or no",
        ),
        (
            "genera.csv",
            "Newgenus,Newidae,acropora,rocky,branching,hardy,II,,yes,memory,estimate",
            "bag_class",
            "stony, soft",
        ),
        ("foams.csv", "moss,dry moss,0.03,0.04,0.2,0,memory,estimate", "k_high_w_mk", "0.003 to 0.1"),
        ("boxes.csv", "odd,odd box,300,300,300,25,moss,4,1,20,memory,estimate", "foam", "foams.csv"),
        (
            "packs.csv",
            "odd,odd pack,no,100,100,20,0.2,,,,0,0,,300000,4100,40,memory,estimate",
            "melts_c",
            "melting point",
        ),
        ("pests.csv", "odd,odd pest,corals,Acropra,,,3,memory,estimate", "host_genera", "genera.csv"),
        ("pests.csv", "odd,odd pest,corals,Acropora,27-38,,3,memory,estimate", "generation_d", "24:64"),
        (
            "pests.csv",
            "odd,odd pest,corals,Acropora,27:38 24:64,,3,memory,estimate",
            "generation_d",
            "rising",
        ),
        ("parameters_planning.csv", "odd_share,1,0.5,0.9,1.1,memory,estimate,", "high", "from 0 to 1"),
        ("parameters_planning.csv", "Odd One,1,0.5,0.9,1.1,memory,estimate,", "parameter", "small letters"),
        (
            "parameters_planning.csv",
            "water_share,1,0.5,0.9,1,memory,estimate,",
            "parameter",
            "not there twice",
        ),
        ("cautions.csv", "odd,always,,memory", "text", "some text"),
        ("SOURCES.csv", "odd,Somebody,,glanced", "seen", "full, abstract"),
    ],
)
def test_a_bad_row_is_named_by_file_line_and_column(
    tables: Path, name: str, row: str, column: str, expected: str
) -> None:
    line = append(tables, name, row)
    found = [
        problem
        for problem in problems_of(tables)
        if (problem.place.file, problem.place.line, problem.place.column) == (name, line, column)
    ]
    assert any(expected in problem.expected for problem in found), found


def test_all_problems_of_all_tables_come_together(tables: Path) -> None:
    append(tables, "traits.csv", "Acropora,table,q10,1,2,1.5,3,memory,estimate")
    append(tables, "bags.csv", "x,tiny bag,5,250,0.4,75,1,no,yes,2,2,0.003,memory,estimate")
    append(tables, "genera.csv", "New,Newidae,shrubs,stony,branching,hardy,II,,yes,memory,estimate")
    files = {problem.place.file for problem in problems_of(tables)}
    assert files == {"traits.csv", "bags.csv"}  # a genus whose class has no rows lacks traits


def test_a_genus_without_a_trait_is_named_with_its_class(tables: Path) -> None:
    append(tables, "genera.csv", "New,Newidae,shrubs,stony,branching,hardy,II,,yes,memory,estimate")
    wanting = [problem.expected for problem in problems_of(tables)]
    assert "a row for New or class:shrubs with q10" in wanting


def test_a_missing_table_is_named(tables: Path) -> None:
    (tables / "bags.csv").unlink()
    assert [problem.place.file for problem in problems_of(tables)] == ["bags.csv"]


def test_a_wrong_header_is_shown_with_the_right_one(tables: Path) -> None:
    path = tables / "foams.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("k_slope_per_c", "slope"), encoding="utf-8")
    assert any("k_slope_per_c" in p.expected and p.place.line == 1 for p in problems_of(tables))


def test_a_row_with_a_cell_too_many_is_named(tables: Path) -> None:
    line = append(tables, "cautions.csv", "odd,always,beware, of commas,memory")
    assert any(p.place.line == line and "4 cells, not 5" in p.expected for p in problems_of(tables))


def test_bytes_that_are_not_utf8_are_named_by_line(tables: Path) -> None:
    path = tables / "cautions.csv"
    path.write_bytes(path.read_bytes() + "odd,always,öl,memory\n".encode("latin-1"))
    lines = path.read_bytes().count(b"\n")
    assert any(p.place.line == lines and p.expected == "text in UTF-8" for p in problems_of(tables))


def test_a_tolerance_without_an_ending_limit_is_named(tables: Path) -> None:
    header = "tolerance,code,words,quantity,below,level,hours,ends_hold,source,grade\n"
    row = "hardy,low_oxygen,oxygen too low,oxygen_mg_l,yes,1,12,yes,memory,estimate\n"
    (tables / "limits.csv").write_text(header + row, encoding="utf-8")
    wanting = {problem.expected for problem in problems_of(tables)}
    assert wanting == {f"a limit that ends the hold, for {word}" for word in ("sensitive", "ordinary")}


@given(st.lists(st.floats(-50, 50), min_size=3, max_size=3))
def test_a_band_is_read_or_refused_but_never_bent(values: list[float]) -> None:
    problems: list[Problem] = []
    cells = dict(zip(("low", "typical", "high"), map(repr, values), strict=True))
    band = Row("t.csv", 2, cells, problems).band(-20, 20)
    good = values == sorted(values) and all(-20 <= value <= 20 for value in values)
    assert (not problems) == good
    if good:
        assert band == Band(*values)


@given(st.binary(max_size=200))
def test_no_bytes_make_the_reader_fail(content: bytes) -> None:
    problems: list[Problem] = []
    rows = list(read_rows("t.csv", content, ["a", "b"], problems))
    assert rows == [] or not problems or all(row.line >= 2 for row in rows)
    assert all(problem.place.file == "t.csv" for problem in problems)

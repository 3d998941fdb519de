"""Reading stock tables: every slip is told with its place."""

from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.words import Form
from ramet.formats.cells import day, number, quantity, shielded, text_up_to, whole_number, word_of, written
from ramet.formats.records import WATER_COLUMNS
from ramet.formats.stock import COLUMNS
from ramet.formats.table import Sheet, read_rows, read_sheets

HEAD = "piece,strain,taxon,system,tank,length_mm"


def sheet_of(path: Path, text: str) -> Sheet:
    path.write_text(text, encoding="utf-8")
    sheets, problems = read_sheets(path)
    assert problems == []
    return sheets[0]


def problems_of(path: Path, text: str) -> list[str]:
    _, problems = read_rows(sheet_of(path, text), COLUMNS)
    return [str(problem) for problem in problems]


def test_columns_come_in_any_order_and_under_their_aliases(tmp_path: Path) -> None:
    text = "tank,LENGTH MM,frag,taxon,clone,system\nt1,30,p1,Acropora sp.,Ember,north\n"
    rows, problems = read_rows(sheet_of(tmp_path / "s.csv", text), COLUMNS)
    assert problems == []
    assert rows[0].values == {
        "tank": "t1",
        "length_mm": 30.0,
        "piece": "p1",
        "taxon": "Acropora sp.",
        "strain": "Ember",
        "system": "north",
    }


def test_an_unknown_column_is_told_with_the_nearest_known_one(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path / "s.csv", f"{HEAD},widht_mm\na,b,Acropora,n,t,3,4\n")
    assert problem.endswith(
        "s.csv:1 [widht_mm]: found “widht_mm”; expected a known column; the nearest is “width_mm”"
    )


def test_missing_and_doubled_columns_are_told(tmp_path: Path) -> None:
    problems = problems_of(tmp_path / "s.csv", "piece,strain,line,taxon,system,tank\na,b,b,Acropora,n,t\n")
    assert len(problems) == 2
    assert "[line]" in problems[0]
    assert "one column only for “strain”" in problems[0]
    assert "a column “length_mm”" in problems[1]


def test_all_bad_cells_are_told_together_with_line_and_column(tmp_path: Path) -> None:
    text = f"{HEAD},heads,cut_on,form\na,s,Acropora,n,t,-3,2.5,31.12.2026,bush\n,s,Acropora,n,t,nan,,,\n"
    problems = problems_of(tmp_path / "s.csv", text)
    told = [problem.split("s.csv:")[1] for problem in problems]
    assert [one.split(":")[0] for one in told] == [
        "2 [length_mm]",
        "2 [heads]",
        "2 [cut_on]",
        "2 [form]",
        "3 [piece]",
        "3 [length_mm]",
    ]
    assert "found “-3”; expected a size above 0" in told[0]


@pytest.mark.parametrize("cell", ["=1+1", "+cmd", "@sum(a1)", "-x", "=HYPERLINK(1)"])
def test_a_formula_cell_is_refused(tmp_path: Path, cell: str) -> None:
    (problem,) = problems_of(tmp_path / "s.csv", f"{HEAD},note\na,s,Acropora,n,t,3,{cell}\n")
    assert f"s.csv:2 [note]: found “{cell}”" in problem
    assert "a spreadsheet would run it" in problem


def test_text_that_is_not_utf8_is_told_with_byte_and_line(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    before = f"{HEAD}\na,s,Acropora,n,t,3\nb,caf".encode()
    path.write_bytes(before + b"\xe9,Acropora,n,t,3\n")
    sheets, (problem,) = read_sheets(path)
    assert sheets == []
    assert problem.place.line == 3
    assert problem.value == f"byte 0xe9 at offset {len(before)}"
    assert "UTF-8" in problem.expected


def test_a_byte_order_mark_and_semicolons_are_taken(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_bytes(b"\xef\xbb\xbf" + f"{HEAD}\na,s,Acropora,n,t,3\n".replace(",", ";").encode())
    rows, problems = read_rows(read_sheets(path)[0][0], COLUMNS)
    assert problems == []
    assert rows[0].values["piece"] == "a"


def test_a_quote_that_is_never_closed_is_told_where_it_opened(tmp_path: Path) -> None:
    path = tmp_path / "s.csv"
    path.write_text(f'{HEAD}\na,s,Acropora,n,t,3\nb,"s,Acropora,n,t,3\nc,s,Acropora,n,t,3\n')
    _, (problem,) = read_sheets(path)
    assert problem.place.line == 3


def test_a_row_of_two_lines_keeps_the_line_it_began_on(tmp_path: Path) -> None:
    text = f'{HEAD},note\na,s,Acropora,n,t,3,"two\nlines"\nb,s,Acropora,n,t,x,\n'
    (problem,) = problems_of(tmp_path / "s.csv", text)
    assert "s.csv:4 [length_mm]" in problem


def test_cells_beyond_the_headers_are_told(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path / "s.csv", f"{HEAD}\na,s,Acropora,n,t,3,more\n")
    assert "found “more”; expected no more cells than the 6 headers" in problem


@pytest.mark.parametrize(
    ("name", "content", "expected"),
    [
        ("gone.csv", None, "a CSV or XLSX file that exists"),
        ("s.pdf", b"x", "a file that ends with .csv or .xlsx"),
        ("empty.csv", b"", "a row of column headers"),
        ("blank.csv", b"\n , ,\n", "a row of column headers"),
        ("zero.csv", b"piece\0", "plain text in UTF-8"),
        ("broken.xlsx", b"PK no workbook", "a workbook that can be opened"),
    ],
)
def test_a_file_that_is_no_table_is_told(
    tmp_path: Path, name: str, content: bytes | None, expected: str
) -> None:
    if content is not None:
        (tmp_path / name).write_bytes(content)
    sheets, problems = read_sheets(tmp_path / name)
    assert sheets == []
    assert expected in problems[0].expected


def test_a_workbook_gives_the_same_rows_as_text(tmp_path: Path) -> None:
    """openpyxl writes what another library reads: whole numbers and dates must come out as in CSV."""
    book = openpyxl.Workbook()
    stock = book.active
    assert stock is not None
    stock.title = "stock"
    stock.append([*HEAD.split(","), "cut_on", "heads", "par", "acquired_on"])
    stock.append(["a", "s", "Acropora", "n", "t", 30, date(2026, 5, 1), 5, 120.5, datetime(2026, 4, 1)])
    stock.append([7, "s", "Acropora", "n", "t", "2 in", None, None, None, "2026-04-02"])
    water = book.create_sheet("water")
    water.append(["system", "on", "temperature_c", "salinity", "alkalinity_meq_l"])
    water.append(["n", date(2026, 5, 2), "77 °F", 35, 3])
    book.save(tmp_path / "s.xlsx")
    sheets, problems = read_sheets(tmp_path / "s.xlsx")
    assert problems == []
    rows, bad = read_rows(sheets[0], COLUMNS)
    assert bad == []
    assert rows[0].values["cut_on"] == date(2026, 5, 1)
    assert rows[0].values["acquired_on"] == date(2026, 4, 1)
    assert (rows[0].values["heads"], rows[0].values["par"]) == (5, 120.5)
    assert (rows[1].values["piece"], rows[1].values["length_mm"]) == ("7", 50.8)
    (reading,), bad = read_rows(sheets[1], WATER_COLUMNS)
    assert bad == []
    assert reading.values["temperature_c"] == 25.0


def test_a_problem_in_a_workbook_names_sheet_row_and_column(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    stock = book.active
    assert stock is not None
    stock.title = "stock"
    stock.append([])
    stock.append(HEAD.split(","))
    stock.append(["a", "s", "Acropora", "n", "t", 0])
    book.create_sheet("notes").append(["x"])
    book.save(tmp_path / "s.xlsx")
    sheets, _ = read_sheets(tmp_path / "s.xlsx")
    assert len(sheets) == 1
    _, (problem,) = read_rows(sheets[0], COLUMNS)
    assert str(problem.place).endswith("s.xlsx (stock):3 [length_mm]")


def test_a_workbook_of_several_sheets_needs_one_named_for_a_table(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    first = book.active
    assert first is not None
    first.append(["x"])
    book.create_sheet("notes").append(["y"])
    book.save(tmp_path / "s.xlsx")
    sheets, (problem,) = read_sheets(tmp_path / "s.xlsx")
    assert sheets == []
    assert problem.expected == "a sheet named stock, water, health, spots"


@pytest.mark.parametrize(
    ("cell", "millimetres"),
    [("2 in", 50.8), ("2in", 50.8), ("3 cm", 30), ("12.5", 12.5), ("1e2", 100), ("0.5 ft", 152.4)],
)
def test_sizes_take_us_units(cell: str, millimetres: float) -> None:
    """An inch is 25.4 mm and a foot 304.8 mm by definition (international yard and pound, 1959)."""
    assert quantity("mm", 0, 5000, "a size")(cell) == pytest.approx(millimetres, abs=1e-9)


@pytest.mark.parametrize(
    "cell", ["", "1_000", "inf", "nan", "0", "-1", "5001", "1,5", "٣", "12 stone", "1e999"]
)
def test_no_size_is_read_from_what_is_none(cell: str) -> None:
    with pytest.raises(ValueError, match="a size"):
        quantity("mm", 0, 5000, "a size", above_low=True)(cell)


@pytest.mark.parametrize("cell", ["2026-2-1", "20260201", "2026-02-30", "02/03/2026", "2026-W05-1", "today"])
def test_only_iso_days_are_read(cell: str) -> None:
    with pytest.raises(ValueError, match="a day such as"):
        day(cell)


def test_words_and_whole_numbers_are_read_strictly() -> None:
    assert word_of(Form)("Branching") is Form.BRANCHING
    with pytest.raises(ValueError, match="one of: branching, table"):
        word_of(Form)("bush")
    with pytest.raises(ValueError, match="heads"):
        whole_number(1, 10, "heads")("2.5")
    with pytest.raises(ValueError, match="light"):
        number(0, 10, "light")("11")


PRINTABLE = st.text(
    st.characters(exclude_categories=("C",)) | st.sampled_from("='+-@'\"\n;,"), min_size=1, max_size=30
)


@given(PRINTABLE)
def test_text_that_was_written_reads_back_and_is_never_a_formula(text: str) -> None:
    read = text_up_to(100, lines=True)
    cell = written(text)
    assert not cell.startswith(("=", "+", "-", "@"))
    try:
        taken = read(cell)
    except ValueError:
        return
    assert read(written(taken)) == taken
    assert shielded(taken).lstrip("'") == taken.lstrip("'")


@given(st.floats(min_value=1e-9, max_value=5000))
def test_numbers_that_were_written_read_back_exactly(value: float) -> None:
    assert quantity("mm", 0, 5000, "a size", above_low=True)(written(value)) == value

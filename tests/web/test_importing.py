"""A newcomer's own table comes in: headings are sorted out, cells are mended beside their row."""

import html
import re
from datetime import date
from pathlib import Path

from visitors import Visitor

from ramet.reference.tables import load_reference
from ramet.services.stock import read_stock

TABLE = b"""\
Coral ID,strain,taxon,length_mm,cut_on,flavour
A1,Fern,Acropora millepora,62,2026-08-14,sweet
A2,Fern,Acropora millepora,6x2,2026-18-14,sour
K1,Lantern,Euphyllia glabrescens,70,,
"""


def fields_of(page: str) -> dict[str, str]:
    """The fields of the form of mending, with what stands in them."""
    inputs = re.findall(r'<(?:input|select) id="([^"]+)" name="[^"]*"(?: value="([^"]*)")?', page)
    return {html.unescape(name): html.unescape(value) for name, value in inputs if "|" in name}


def upload(visitor: Visitor, data: bytes, name: str = "mine.csv", **fields: str) -> tuple[int, str]:
    answer = visitor.post("/import", files={"tables": (name, data)}, data=fields)
    return answer.status_code, answer.text


def where(page: str) -> str:
    return re.search(r'action="(/import/[^"]+)"', page)[1]


def pieces(tmp_path: Path) -> list[str]:
    stock = read_stock(str(tmp_path / "new.db"), load_reference(), date(2026, 9, 1))
    return [piece.piece for piece in stock.pieces]


def test_a_table_with_its_own_headings_is_mended_on_the_page_and_comes_in(
    newcomer: Visitor, tmp_path: Path
) -> None:
    status, page = upload(newcomer, TABLE)
    assert status == 422
    assert not (tmp_path / "new.db").exists()
    typed = dict.fromkeys(fields_of(page), "")
    typed |= {"header|0|Coral ID": "piece", "header|0|flavour": "-"}
    typed |= {"missing|0|system": "main", "missing|0|tank": "T1"}
    page = newcomer.post(where(page), data=typed).text
    bad = fields_of(page)
    assert bad == {"cell|0|3|length_mm": "6x2", "cell|0|3|cut_on": "2026-18-14"}
    assert "line 3" in page
    answer = newcomer.post(where(page), data={"cell|0|3|length_mm": "62", "cell|0|3|cut_on": "2026-08-14"})
    assert answer.url.path == "/start"
    assert "3 pieces added" in answer.text
    assert pieces(tmp_path) == ["A1", "A2", "K1"]


def test_the_good_rows_come_in_without_the_bad_ones_when_told_so(newcomer: Visitor, tmp_path: Path) -> None:
    table = b"piece,strain,taxon,system,tank,length_mm\nA1,F,Acropora,m,T,60\nA2,F,Acropora,m,T,none\n"
    _, page = upload(newcomer, table)
    answer = newcomer.post(where(page), data={"cell|0|3|length_mm": "none", "do": "good-rows"})
    assert "1 rows left out" in answer.text
    assert pieces(tmp_path) == ["A1"]


def test_pasted_rows_come_in_like_a_file(newcomer: Visitor, tmp_path: Path) -> None:
    rows = "piece\tstrain\ttaxon\tsystem\ttank\tlength_mm\nA1\tFern\tAcropora\tmain\tT1\t2.5 in\n"
    assert newcomer.post("/import", data={"pasted": rows}).url.path == "/start"
    assert pieces(tmp_path) == ["A1"]


def test_nothing_chosen_is_told_beside_the_field(newcomer: Visitor) -> None:
    answer = newcomer.post("/import", data={"pasted": ""})
    assert answer.status_code == 422
    assert 'id="tables-wrong"' in answer.text


def test_a_file_that_is_no_table_is_refused_by_its_own_name(newcomer: Visitor) -> None:
    status, page = upload(newcomer, b"\xff\xd8\xff\xe0 not a table", "../../holiday.jpg")
    assert status == 422
    assert "holiday.jpg" in page
    assert not (Path(newcomer.app.state.office.files) / "uploads").exists() or not list(
        (newcomer.app.state.office.files / "uploads").iterdir()
    )


def test_tables_that_were_imported_are_not_imported_again_by_going_back(newcomer: Visitor) -> None:
    table = b"piece,strain,taxon,system,tank,length_mm\nA1,F,Acropora,m,T,none\n"
    _, page = upload(newcomer, table)
    address = where(page)
    mended = {"cell|0|2|length_mm": "60"}
    assert newcomer.post(address, data=mended).status_code == 200
    assert newcomer.post(address, data=mended).status_code == 410

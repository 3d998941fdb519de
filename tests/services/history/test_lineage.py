"""A strain's family: each piece below its mother, gone ones too, with the papers they inherit."""

import xml.etree.ElementTree as ET
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from ramet.domain.errors import BadInput
from ramet.domain.family import Family
from ramet.ledger import open_ledger
from ramet.main import cli
from ramet.papers.family_tree import family_tree_svg
from ramet.reference.tables import load_reference
from ramet.services.history.lineage import family, origin_lines, text_tree
from ramet.services.import_stock import import_files
from ramet.services.recording.fuse import Fuse, fuse
from ramet.services.recording.leave import Lost, lose
from ramet.services.recording.recorded import Scribe

TODAY = date(2027, 1, 15)
STOCK = """piece,strain,taxon,parent,system,tank,length_mm,cut_on,source,permit
A,Ember & Co,Acropora sp.,,north,n1,90,,farm F,P-1
A-2,Ember & Co,Acropora sp.,A,north,n1,50,2026-05-01,farm F,P-1
A-10,Ember & Co,Acropora sp.,A,north,n1,40,2026-06-01,farm F,P-1
A-2-1,Ember & Co,Acropora sp.,A-2,north,n1,30,2026-08-01,farm F,P-1
B,Ember & Co,Acropora sp.,,south,s1,70,,swap,
Z,Other,Pavona sp.,,south,s1,70,,,
"""
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def place(tmp_path: Path) -> str:
    (tmp_path / "stock.csv").write_text(STOCK)
    import_files(str(tmp_path / "a.db"), [tmp_path / "stock.csv"], load_reference(), TODAY)
    return str(tmp_path / "a.db")


def found(place: str, name: str) -> Family:
    with open_ledger(place) as ledger:
        return family(ledger, name)


@pytest.mark.parametrize("name", ["Ember & Co", "ember & co", "a-2-1"])
def test_a_family_is_found_by_strain_or_piece_and_goes_down_from_each_forebear(place: str, name: str) -> None:
    told = [(one.piece, one.depth) for one in found(place, name).members]
    assert told == [("A", 0), ("A-2", 1), ("A-2-1", 2), ("A-10", 1), ("B", 0)]


def test_papers_are_told_once_where_they_come_in(place: str) -> None:
    assert origin_lines(found(place, "A")) == [
        "source farm F; papers P-1 (A, and what was cut from them)",
        "source swap; papers not recorded (B, and what was cut from them)",
    ]


def test_what_is_gone_stays_in_the_tree(place: str) -> None:
    with open_ledger(place) as ledger:
        fuse(ledger, Fuse(("A-10",), "A-2"), Scribe("me", TODAY))
        lose(ledger, Lost(("B",)), Scribe("me", TODAY))
        lines = text_tree(family(ledger, "A"))
    assert any("A-10" in line and line.endswith("fused into A-2") for line in lines)
    assert any("B:" in line and line.endswith("; lost") for line in lines)


def test_the_drawing_has_a_title_every_piece_once_and_a_line_to_each_mother(place: str) -> None:
    one = found(place, "A")
    root = ET.fromstring(family_tree_svg(one, origin_lines(one)))
    assert root.findtext(f"{SVG}title") == "Family of Ember & Co"
    assert [group.attrib["data-piece"] for group in root.iter(f"{SVG}g")] == [m.piece for m in one.members]
    assert len(root.findall(f"{SVG}path")) == sum(1 for member in one.members if member.depth)
    boxes = [group.find(f"{SVG}rect") for group in root.iter(f"{SVG}g")]
    corners = {(box.attrib["x"], box.attrib["y"]) for box in boxes if box is not None}
    assert len(corners) == len(one.members)


def test_a_strain_that_nobody_has_is_told(place: str) -> None:
    with pytest.raises(BadInput, match="a strain or a piece of the ledger"):
        found(place, "Nobody")


def test_the_command_draws_into_a_file(place: str, tmp_path: Path) -> None:
    result = CliRunner().invoke(cli, ["tree", "Ember & Co", "--ledger", place, "-o", str(tmp_path / "t.svg")])
    assert result.stdout.startswith("Ember & Co (Acropora sp.)\n  source farm F")
    assert (tmp_path / "t.svg").read_text().startswith("<svg")

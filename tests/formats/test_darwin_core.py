"""The archive holds what the Darwin Core text guide asks for, in terms of the standard alone.

Terms: the standard's own list (source in `darwin_core_terms.txt`). Structure: TDWG, Darwin Core text guide,
https://dwc.tdwg.org/text/ (one core with `id`, extensions with `coreid`, a rowType for each file).
"""

import csv
import io
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from ramet.domain.events import PieceState, Standing
from ramet.domain.piece import Piece
from ramet.domain.words import Form
from ramet.formats.darwin_core import archive

TEXT = "{http://rs.tdwg.org/dwc/text/}"
TERMS = "http://rs.tdwg.org/dwc/terms/"
CLASSES = {"Occurrence", "MeasurementOrFact", "ResourceRelationship"}
LISTED = {
    term
    for line in (Path(__file__).parent / "darwin_core_terms.txt").read_text().splitlines()
    if not line.startswith("#")
    for term in line.split()
}
MOTHER = Piece("E1", "Ember", "Acropora millepora", Form.BRANCHING, "north", "n1", 80.0, 60.0, 50.0, spot="a")
CHILD = replace(
    MOTHER,
    piece="E2",
    taxon="Acropora sp.",
    parent="E1",
    cut_on=date(2027, 1, 2),
    heads=3,
    note="=two\nlines",
    permit="P-1",
    defaults_used=("height_mm",),
)
STATES = (
    PieceState(MOTHER, Standing.ALIVE, None, 1, date(2027, 1, 1)),
    PieceState(CHILD, Standing.FUSED, None, 2, date(2027, 1, 2)),
)


@pytest.fixture
def opened() -> zipfile.ZipFile:
    data = archive(STATES, {"E2": ("E1", date(2027, 2, 1))}, date(2027, 2, 2), "Stock & more")
    return zipfile.ZipFile(io.BytesIO(data))


def rows(file: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(file.read(name).decode())))


def test_every_term_and_class_is_of_the_standard_and_every_column_has_one(opened: zipfile.ZipFile) -> None:
    meta = ET.fromstring(opened.read("meta.xml"))
    assert meta.tag == f"{TEXT}archive"
    for number, part in enumerate(meta):
        assert part.tag == TEXT + ("core" if number == 0 else "extension")
        assert part.attrib["rowType"].removeprefix(TERMS) in CLASSES
        key = part.find(TEXT + ("id" if number == 0 else "coreid"))
        assert key is not None
        terms = {int(field.attrib["index"]): field.attrib["term"] for field in part.iter(f"{TEXT}field")}
        assert {term.removeprefix(TERMS) for term in terms.values()} <= LISTED
        name = part.findtext(f"{TEXT}files/{TEXT}location")
        assert name is not None
        header = next(csv.reader(io.StringIO(opened.read(name).decode())))
        assert {int(key.attrib["index"]), *terms} == set(range(len(header)))
        assert [terms[n].removeprefix(TERMS) for n in range(1, len(header))] == header[1:]


def test_a_piece_is_a_living_specimen_of_its_strain(opened: zipfile.ZipFile) -> None:
    first, second = rows(opened, "occurrence.csv")
    assert (first["materialEntityID"], first["organismID"]) == ("E1", "Ember")
    assert (first["basisOfRecord"], first["scientificName"], first["taxonRank"]) == (
        "LivingSpecimen",
        "Acropora millepora",
        "species",
    )
    assert (second["scientificName"], second["taxonRank"]) == ("Acropora", "genus")
    assert second["occurrenceRemarks"] == "'=two lines"
    assert second["vitality"] == ""


def test_a_cut_piece_is_a_fragment_of_its_parent(opened: zipfile.ZipFile) -> None:
    told = [
        (row["resourceID"], row["relationshipOfResource"], row["relatedResourceID"])
        for row in rows(opened, "relationship.csv")
    ]
    assert told == [("E2", "fragment of", "E1"), ("E2", "fused into", "E1")]


def test_sizes_carry_their_unit_and_day_and_defaults_are_no_measurements(opened: zipfile.ZipFile) -> None:
    told = [
        (row["measurementType"], row["measurementValue"], row["measurementUnit"])
        for row in rows(opened, "measurement.csv")
        if row["coreid"] == "E2"
    ]
    assert told == [("length", "80", "mm"), ("width", "60", "mm"), ("number of heads", "3", "")]


def test_the_metadata_are_well_formed_with_title_creator_and_contact(opened: zipfile.ZipFile) -> None:
    # Required by EML 2.2.0 (https://eml.ecoinformatics.org): dataset with title, creator and contact.
    dataset = ET.fromstring(opened.read("eml.xml")).find("dataset")
    assert dataset is not None
    assert dataset.findtext("title") == "Stock & more"
    assert dataset.find("creator/organizationName") is not None
    assert dataset.find("contact/organizationName") is not None


def test_the_same_stock_gives_the_same_bytes() -> None:
    once, twice = (archive(STATES, {}, date(2027, 2, 2), "Stock") for _ in range(2))
    assert once == twice

"""The user's own rows stand in for ours, are named, and change the hash."""

from pathlib import Path

import pytest

from ramet.domain.errors import BadInput
from ramet.domain.words import Form
from ramet.reference.ranges import same_unit
from ramet.reference.tables import Reference, load_reference

HEADER = "subject,form,trait,unit,low,typical,high,source\n"


def own(folder: Path, rows: str) -> Path:
    path = folder / "own.csv"
    path.write_text(HEADER + rows, encoding="utf-8")
    return path


def test_an_own_trait_takes_the_place_of_ours(tmp_path: Path, reference: Reference) -> None:
    rows = own(tmp_path, "Porites,massive,respiration_umol_cm2_h,µmol/cm²/h,0.1,0.2,0.3,own meter\n")
    loaded = load_reference(rows)
    fact = loaded.trait("Porites lobata", Form.MASSIVE, "respiration_umol_cm2_h")
    assert (fact.band.typical, fact.is_override, fact.source) == (0.2, True, "own meter")
    assert loaded.sources["own meter"].seen == "own"
    assert loaded.overrides == (
        "Porites (massive) respiration_umol_cm2_h = 0.2 (0.1 to 0.3) umol/cm2/h; own meter",
    )
    assert loaded.sha256 != reference.sha256
    assert not reference.trait("Porites lobata", Form.MASSIVE, "respiration_umol_cm2_h").is_override


def test_an_own_row_without_a_form_speaks_for_every_form(tmp_path: Path) -> None:
    loaded = load_reference(own(tmp_path, "Montipora,,extension_cm_yr,cm/yr,1,2,3,own rulers\n"))
    for form in (Form.PLATING, Form.BRANCHING, Form.ENCRUSTING):
        assert loaded.trait("Montipora", form, "extension_cm_yr").band.typical == 2


def test_a_class_and_a_parameter_can_be_overridden(tmp_path: Path) -> None:
    rows = "class:leather,,healing_d,d,3,6,9,own log\nparameter,,water_share,1,0.2,0.25,0.3,own log\n"
    loaded = load_reference(own(tmp_path, rows))
    leather = loaded.trait("Sinularia", Form.LEATHER, "healing_d")
    assert (leather.band.typical, leather.is_default, leather.is_override) == (6, True, True)
    assert loaded.parameter("water_share").band.typical == 0.25
    assert len(loaded.overrides) == 2


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        ("Acropra,,q10,1,1,2,3,own", "subject", "near: Acropora"),
        ("Acropora,,vigour,1,1,2,3,own", "trait", "one of"),
        ("Acropora,,q10,d,1,2,3,own", "unit", "unit of q10"),
        ("Acropora,,q10,1,1,2,9,own", "high", "from 1 to 6"),
        ("Acropora,round,q10,1,1,2,3,own", "form", "one of"),
        ("Acropora,,q10,1,1,2,3,", "source", "some text"),
        ("parameter,,water_shar,1,0.2,0.3,0.4,own", "trait", "near: water_share"),
        ("parameter,massive,water_share,1,0.2,0.3,0.4,own", "form", "empty"),
    ],
)
def test_a_bad_own_row_is_bad_input_with_its_place(
    tmp_path: Path, row: str, column: str, expected: str
) -> None:
    path = own(tmp_path, row + "\n")
    with pytest.raises(BadInput) as caught:
        load_reference(path)
    assert [(p.place.file, p.place.line, p.place.column) for p in caught.value.problems] == [
        (str(path), 2, column)
    ]
    assert expected in caught.value.problems[0].expected


def test_a_missing_own_file_is_bad_input(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="a readable file"):
        load_reference(tmp_path / "nowhere.csv")


def test_the_same_row_twice_is_refused(tmp_path: Path) -> None:
    row = "Acropora,,q10,1,1,2,3,own\n"
    with pytest.raises(BadInput, match="not there twice"):
        load_reference(own(tmp_path, row + row))


def test_units_may_be_typed_without_special_signs() -> None:
    assert same_unit("°C", "C")
    assert same_unit("µmol/m²/s", "umol/m2/s")
    assert not same_unit("cm", "mm")


def test_the_documented_example_loads(tmp_path: Path) -> None:
    document = (Path(__file__).parents[2] / "docs" / "reference-tables.md").read_text("utf-8")
    example = document.split("```\n")[1]
    path = tmp_path / "own.csv"
    path.write_text(example, encoding="utf-8")
    assert len(load_reference(path).overrides) == example.count("\n") - 1

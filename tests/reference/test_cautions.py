"""The cautions: every hazard has one, and every condition is documented."""

import re
from pathlib import Path

import pytest

from ramet.reference.tables import Reference

DOCUMENT = Path(__file__).parents[2] / "docs" / "reference-tables.md"


def test_every_condition_is_documented_and_used(reference: Reference) -> None:
    section = DOCUMENT.read_text("utf-8").split("### When a caution applies")[1].split("\n## ")[0]
    cells = re.findall(r"^\| ([a-z_, ]+) \|", section, re.MULTILINE)
    documented = {word for cell in cells for word in cell.split(", ")} - {"code"}
    assert documented == {row.applies for row in reference.cautions}


@pytest.mark.parametrize(
    ("applies", "word"),
    [
        ("always", "GFCI"),
        ("always", "never pour them into natural water"),
        ("always", "gloves"),
        ("zoanthid", "palytoxin"),
        ("cut", "aerosol"),
        ("dip", "veterinarian"),
        ("oxygen", "cylinder"),
        ("caustic", "goggles"),
        ("heavy_box", "NIOSH"),
        ("lay_hands_toxic", "Ask the receiver"),
        ("cites", "Appendix II"),
        ("us_interstate", "Lacey Act"),
        ("threatened", "Endangered Species Act"),
        ("carrier_unknown", "Ask before packing"),
    ],
)
def test_a_hazard_has_its_caution(reference: Reference, applies: str, word: str) -> None:
    assert any(row.applies == applies and word in row.text for row in reference.cautions)


def test_no_caution_names_a_dose(reference: Reference) -> None:
    for row in reference.cautions:
        assert not re.search(r"\d\s*(mg|µg|mL|drops)\b", row.text)

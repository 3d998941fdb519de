"""Every parameter and trait that the code asks for by name stands in a table."""

import re
from pathlib import Path

import ramet
from ramet.reference.ranges import TRAITS
from ramet.reference.tables import Reference

SOURCES = sorted(Path(ramet.__file__).parent.rglob("*.py"))
ASKED = re.compile(r"\bparameter\(\s*\"([a-z0-9_]+)\"\s*\)")
ASKED_TRAIT = re.compile(r"\.trait\([^()]*\"([a-z0-9_]+)\"\s*\)")


def test_every_parameter_asked_for_is_in_a_table(reference: Reference) -> None:
    asked = {(path.name, name) for path in SOURCES for name in ASKED.findall(path.read_text("utf-8"))}
    assert asked, "the pattern no longer meets the code"
    assert sorted(pair for pair in asked if pair[1] not in reference.parameters) == []


def test_every_trait_asked_for_is_a_trait() -> None:
    asked = {(path.name, name) for path in SOURCES for name in ASKED_TRAIT.findall(path.read_text("utf-8"))}
    assert asked, "the pattern no longer meets the code"
    assert sorted(pair for pair in asked if pair[1] not in TRAITS) == []

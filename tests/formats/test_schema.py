"""The committed JSON Schemas are those of the models, and say the same as the models do."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from small_texts import WITH_UNITS, with_units_but

import ramet.formats
from ramet.formats.schema import MODELS, schema_text, write_schemas
from ramet.formats.toml_reader import read_toml

COMMITTED = Path(ramet.formats.__file__).parent / "schema"


@pytest.mark.parametrize("name", list(MODELS))
def test_the_committed_schema_has_not_drifted(name: str) -> None:
    committed = (COMMITTED / name).read_text(encoding="utf-8")
    assert committed == schema_text(MODELS[name]), "run `make schema` and commit the result"


def test_no_schema_is_left_over() -> None:
    assert {path.name for path in COMMITTED.iterdir()} == set(MODELS)


def test_every_schema_is_a_valid_schema_and_is_written_where_asked(tmp_path: Path) -> None:
    for path in write_schemas(tmp_path / "new"):
        Draft202012Validator.check_schema(json.loads(path.read_text(encoding="utf-8")))


def plain(text: str) -> Any:
    """Return TOML as JSON would show it."""
    return json.loads(json.dumps(tomllib.loads(text), default=lambda moment: moment.isoformat()))


@pytest.mark.parametrize(
    ("text", "valid"),
    [
        (WITH_UNITS, True),
        (with_units_but("count = 2", "count = 0"), False),
        (with_units_but("count = 2", "count = 2\nzzz = 1"), False),
        (with_units_but('volume_l = "100 gal"', "volume_l = 0"), False),
        (with_units_but('rank = "must"', 'rank = "shall"'), False),
        (with_units_but('taxon = "Acropora"', 'class = "stony"'), True),
        (with_units_but("alkalinity_dkh = 8", ""), False),
    ],
)
def test_an_outside_validator_agrees_with_the_reader(tmp_path: Path, text: str, valid: bool) -> None:
    schema = json.loads((COMMITTED / "shipment.json").read_text(encoding="utf-8"))
    assert Draft202012Validator(schema).is_valid(plain(text)) == valid
    path = tmp_path / "shipment.toml"
    path.write_text(text, encoding="utf-8")
    assert isinstance(read_toml(path, MODELS["shipment.json"]), tuple) != valid

"""Writes the JSON Schemas of the public files from their models: `python -m ramet.formats.schema DIR`."""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from ramet.formats.plan import Plan
from ramet.formats.result import ResultFile
from ramet.formats.shipment import Shipment
from ramet.formats.tank import TankFile
from ramet.formats.transit import TransitTrial
from ramet.formats.transit_result import TransitResult
from ramet.formats.usual import Usual

MODELS: Mapping[str, type[BaseModel]] = {
    "ramet-plan-1.json": Plan,
    "ramet-result-1.json": ResultFile,
    "ramet-transit-1.json": TransitResult,
    "shipment.json": Shipment,
    "tank.json": TankFile,
    "transit.json": TransitTrial,
    "usual.json": Usual,
}
"""File name of each schema, and the model it describes."""

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema_text(model: type[BaseModel]) -> str:
    """Return the schema of a model as text that depends on the model alone."""
    schema: dict[str, Any] = {"$schema": DIALECT, **model.model_json_schema(by_alias=True)}
    return json.dumps(schema, indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """Write every schema into a folder and return the paths."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, model in MODELS.items():
        path = folder / name
        path.write_text(schema_text(model), encoding="utf-8")
        written.append(path)
    return tuple(written)


if __name__ == "__main__":
    write_schemas(Path(sys.argv[1]))

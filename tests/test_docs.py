"""The pages agree with the code."""

from pathlib import Path
from typing import get_args

import pytest
from pydantic import BaseModel

from ramet.formats.shipment import Shipment
from ramet.main import COMMANDS

ROOT = Path(__file__).parents[1]


def keys_of(model: type[BaseModel]) -> set[str]:
    found: set[str] = set()
    for name, field in model.model_fields.items():
        found.add(field.alias or name)
        for part in models_in(field.annotation):
            found |= keys_of(part)
    return found


def models_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in get_args(annotation) for model in models_in(part)]


@pytest.mark.parametrize("key", sorted(keys_of(Shipment)))
def test_the_shipment_page_tells_every_key(key: str) -> None:
    page = (ROOT / "docs" / "shipment.md").read_text("utf-8")
    assert f"`{key}`" in page or f"[{key}]" in page or f".{key}]" in page


def test_the_readme_opens_with_the_job_then_two_commands_then_a_picture() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    order = [readme.index(part) for part in ("small coral grower", "make demo", "make test", "![")]
    assert order == sorted(order)


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_names_every_command(command: str) -> None:
    assert f"`ramet {command}" in (ROOT / "README.md").read_text("utf-8")


def test_every_link_in_readme_and_pages_leads_somewhere() -> None:
    for page in [ROOT / "README.md", *(ROOT / "docs").rglob("*.md")]:
        for target in links_in(page.read_text("utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


def links_in(text: str) -> list[str]:
    targets = [part.split(")")[0] for part in text.split("](")[1:]]
    return [target.split("#")[0] for target in targets if "://" not in target and target.split("#")[0]]

"""The one text form of a plan: the same plan always gives the same bytes."""

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from ramet.domain.problems import Problem
from ramet.formats.plan import Plan
from ramet.formats.toml_reader import read_json


def plan_text(plan: Plan) -> str:
    """Return a plan as JSON: keys in the order of the format, one space a level, number lists on one line."""
    data = plan.model_dump(mode="json", by_alias=True)
    return "".join(_pieces(data, 0)) + "\n"


def read_plan(path: Path) -> Plan | tuple[Problem, ...]:
    """Return the plan in a file, or every problem with its line and key."""
    return read_json(path, Plan)


def _pieces(value: Any, depth: int) -> Iterator[str]:
    """Yield the text of a value in pieces. A list of plain values, such as a series, stays on one line."""
    if isinstance(value, dict) and value:
        yield from _block("{", "}", ((json.dumps(key) + ": ", one) for key, one in value.items()), depth)
    elif isinstance(value, list) and any(isinstance(one, (dict, list)) for one in value):
        yield from _block("[", "]", (("", one) for one in value), depth)
    else:
        yield json.dumps(value, ensure_ascii=False, allow_nan=False)


def _block(opens: str, closes: str, items: Iterable[tuple[str, Any]], depth: int) -> Iterator[str]:
    for index, (key, one) in enumerate(items):
        yield (opens if index == 0 else ",") + "\n" + " " * (depth + 1) + key
        yield from _pieces(one, depth + 1)
    yield "\n" + " " * depth + closes

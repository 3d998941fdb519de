"""Lines of keys in TOML and JSON texts, against the standard readers' view of the same text."""

import json
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.formats.json_places import json_places
from ramet.formats.toml_places import KeyPath, toml_places

TEXT = '''# a comment with [brackets] and = signs
name = "first" # and "quotes"
"quoted key" = 'lit # eral'
a.b.c = 1
list = [
  1, # one
  { x = 1, y.z = [2, 3] },
  """
  many = lines
  """, "tail",
]
when = 2027-01-20T10:00:00-07:00

[table]
key = \'\'\'
[no.table]
\'\'\'
other = true
[table . "sub table".deep]
k = 1
[[rows]]
id = 1
[rows.inner]
v = 1
[[rows]]
id = 2
[[rows.parts]]
p = 1
[[rows.parts]]
p = 2
'''
LINES: dict[KeyPath, int] = {
    ("name",): 2,
    ("quoted key",): 3,
    ("a",): 4,
    ("a", "b", "c"): 4,
    ("list",): 5,
    ("list", 0): 6,
    ("list", 1): 7,
    ("list", 1, "x"): 7,
    ("list", 1, "y", "z"): 7,
    ("list", 1, "y", "z", 1): 7,
    ("list", 2): 8,
    ("list", 3): 10,
    ("when",): 12,
    ("table",): 14,
    ("table", "key"): 15,
    ("table", "other"): 18,
    ("table", "sub table", "deep"): 19,
    ("table", "sub table", "deep", "k"): 20,
    ("rows",): 21,
    ("rows", 0): 21,
    ("rows", 0, "id"): 22,
    ("rows", 0, "inner"): 23,
    ("rows", 0, "inner", "v"): 24,
    ("rows", 1): 25,
    ("rows", 1, "id"): 26,
    ("rows", 1, "parts", 0): 27,
    ("rows", 1, "parts", 0, "p"): 28,
    ("rows", 1, "parts", 1): 29,
    ("rows", 1, "parts", 1, "p"): 30,
}


def paths(value: Any, path: KeyPath = ()) -> set[KeyPath]:
    """Return every key path of plain data."""
    found = {path} if path else set()
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, below in items:
        found |= paths(below, (*path, key))
    return found


@pytest.mark.parametrize("path", list(LINES))
def test_every_key_has_the_line_it_stands_in(path: KeyPath) -> None:
    assert toml_places(TEXT)[path] == LINES[path]


def test_the_places_are_exactly_the_keys_that_the_standard_reader_finds() -> None:
    assert set(toml_places(TEXT)) == paths(tomllib.loads(TEXT))


plain = st.recursive(
    st.integers()
    | st.booleans()
    | st.text(st.characters(codec="utf-8", exclude_categories=["C"]), max_size=8),
    lambda below: (
        st.lists(below, max_size=3) | st.dictionaries(st.text("ab\"'.# é", max_size=4), below, max_size=3)
    ),
    max_leaves=12,
)


def quoted(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def inline(value: Any) -> str:
    """Write plain data as an inline TOML value; JSON text is valid for all but tables."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{quoted(key)} = {inline(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ",\n".join(inline(one) for one in value) + "]"
    return quoted(value)


@given(st.dictionaries(st.text("ab\"'.# é", max_size=4), plain, max_size=4))
def test_any_toml_gets_a_place_for_each_of_its_keys(data: dict[str, Any]) -> None:
    text = "\n".join(f"{quoted(key)} = {inline(one)}" for key, one in data.items())
    assert set(toml_places(text)) == paths(tomllib.loads(text))


def test_escapes_in_keys_are_undone() -> None:
    assert toml_places(r'"caf\u00e9"."a\"b" = 1') == {("café",): 1, ("café", 'a"b'): 1}


@given(st.dictionaries(st.text("ab\"'.# é", max_size=4), plain, max_size=4), st.sampled_from([None, 1]))
def test_any_json_gets_a_place_for_each_of_its_keys(data: dict[str, Any], indent: int | None) -> None:
    text = json.dumps(data, indent=indent)
    assert set(json_places(text)) == paths(data)


@given(st.dictionaries(st.text("abc", min_size=1, max_size=4), plain, max_size=4))
def test_json_keys_stand_in_the_line_that_shows_them(data: dict[str, Any]) -> None:
    text = json.dumps(data, indent=1)
    for path, line in json_places(text).items():
        if isinstance(path[-1], str):
            assert json.dumps(path[-1]) in text.split("\n")[line - 1]

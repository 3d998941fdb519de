"""What is written as TOML is read back as it was."""

import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from ramet.formats.toml_text import toml_text

DEMO = Path(__file__).parents[2] / "src/ramet/data/demo/shipment.toml"
PLAIN = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
    st.integers(-(10**12), 10**12),
    st.booleans(),
    st.floats(allow_nan=False, allow_infinity=False, width=32).filter(lambda one: not one.is_integer()),
    st.dates(date(1, 1, 1)),
    st.datetimes(min_value=datetime(1900, 1, 1), timezones=st.just(UTC)).map(
        lambda moment: moment.replace(microsecond=0)
    ),
)
KEYS = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
TABLES = st.recursive(
    st.dictionaries(KEYS, st.one_of(PLAIN, st.lists(PLAIN, max_size=3)), max_size=4),
    lambda inner: st.dictionaries(
        KEYS, st.one_of(PLAIN, inner, st.lists(inner, min_size=1, max_size=3)), max_size=4
    ),
    max_leaves=12,
)


@given(TABLES)
def test_any_table_is_read_back_by_the_standard_library(table: dict) -> None:
    assert tomllib.loads(toml_text(table)) == table


def test_the_demo_shipment_is_read_back() -> None:
    data = tomllib.loads(DEMO.read_text("utf-8"))
    assert tomllib.loads(toml_text(data)) == data


def test_what_is_none_is_left_out() -> None:
    assert toml_text({"a": None, "b": 1}) == "b = 1\n"

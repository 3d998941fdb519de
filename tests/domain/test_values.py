"""Bands, problems and errors: the small values that every layer hands on."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.band import Band, exactly
from ramet.domain.errors import BadInput, BrokenEnvironment, BrokenTable, OutOfRange, StaleWrite
from ramet.domain.problems import Place, Problem

finite = st.floats(-1e6, 1e6)
bands = st.lists(finite, min_size=3, max_size=3).map(sorted).map(lambda three: Band(*three))


@given(finite, finite, finite)
def test_a_band_is_in_order_or_refused(low: float, typical: float, high: float) -> None:
    if low <= typical <= high:
        assert Band(low, typical, high).typical == typical
    else:
        with pytest.raises(ValueError, match="low <= typical <= high"):
            Band(low, typical, high)


@given(bands, bands, st.floats(0, 100))
def test_sums_and_multiples_stay_in_order(one: Band, other: Band, factor: float) -> None:
    assert (one + other).typical == one.typical + other.typical
    assert one.scaled(factor).high == one.high * factor
    assert one + exactly(0) == one


def test_a_band_is_not_turned_over() -> None:
    with pytest.raises(ValueError, match="at least 0"):
        exactly(1).scaled(-1)


def test_a_problem_reads_as_a_sentence() -> None:
    place = Place("stock.csv", 7, "length_mm")
    assert str(Problem(place, "-3", "a length above 0")) == (
        "stock.csv:7 [length_mm]: found “-3”; expected a length above 0"
    )
    assert str(Problem(Place("stock.csv"), None, "a file")) == "stock.csv: nothing there; expected a file"


def test_errors_carry_their_message_and_exit_code() -> None:
    problems = [Problem(Place("a"), None, "b"), Problem(Place("c"), "d", "e")]
    assert str(BadInput(problems)).split("\n") == [str(one) for one in problems]
    assert BadInput(problems).exit_code == 2
    assert BrokenTable(problems).exit_code == BrokenEnvironment("x").exit_code == 3
    assert str(OutOfRange("salinity", 50, 0, 45, "g/kg")) == "salinity is 50 g/kg; expected 0 to 45 g/kg"
    assert "version 3, you had read 2" in str(StaleWrite("the ledger", 2, 3))

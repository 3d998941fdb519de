"""The best matching, against a general library."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from ramet.optimise.matching import matching_worth


@st.composite
def tables(draw: st.DrawFn) -> list[list[int]]:
    rows, columns = draw(st.integers(1, 7)), draw(st.integers(1, 9))
    numbers = st.lists(st.integers(0, 30), min_size=columns, max_size=columns)
    return draw(st.lists(numbers, min_size=rows, max_size=rows))


@given(tables())
def test_the_worth_is_that_of_a_general_library(table: list[list[int]]) -> None:
    # scipy.optimize.linear_sum_assignment; a pair worth 0 may as well stay apart.
    weights = np.array(table, dtype=np.int64)
    rows, columns = linear_sum_assignment(-weights)
    assert matching_worth(weights) == weights[rows, columns].sum()


def test_no_rows_are_worth_nothing() -> None:
    assert matching_worth(np.zeros((0, 4), dtype=np.int64)) == 0

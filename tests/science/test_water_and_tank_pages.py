"""The examples on the pages about water and the receiving tank say what the program does."""

import doctest
from pathlib import Path

import pytest

PAGES = Path(__file__).parents[2] / "docs" / "science"


@pytest.mark.parametrize("page", ["water.md", "tank.md"])
def test_examples_on_the_page_run(page):
    failed, tried = doctest.testfile(str(PAGES / page), module_relative=False)
    assert tried > 0
    assert failed == 0

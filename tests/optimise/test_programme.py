"""The linear programme over ways to fill a box, by a box that holds two items worth 5 and 3, or the first."""

from types import SimpleNamespace

import numpy as np
import pytest

from ramet.optimise.programme import Known, Programme

BOTH = (SimpleNamespace(item=0), SimpleNamespace(item=1))
FIRST = BOTH[:1]
FREE = 1000.0


@pytest.fixture
def known():
    known = Known()
    known.add(0, BOTH)
    known.add(0, FIRST)
    return known


@pytest.fixture
def programme(known):
    programme = Programme(
        np.zeros((0, 2)),
        np.zeros(0),
        np.zeros(0, np.bool_),
        np.ones(2, np.bool_),
        np.array([5.0, 3.0]),
        [1],
        known,
    )
    programme.take_in()
    return programme


def carried(programme, **how):
    programme.solve(np.zeros(2), FREE, **how)
    return programme.goal.Value()


def test_what_is_carried_is_the_best_way_to_fill_the_box(programme):
    assert carried(programme) == pytest.approx(8.0)
    assert [one.pattern for one in programme.liked()] == [(0, 1)]


def test_a_refused_way_keeps_its_say_on_prices_but_is_not_hoped_for(programme, known):
    known.refuse(0, (0, 1))
    programme.take_in()
    assert carried(programme) == pytest.approx(8.0)
    assert carried(programme, refused=False) == pytest.approx(5.0)


def test_a_way_that_is_found_after_it_was_refused_has_its_say_once(programme, known):
    known.refuse(0, (1,))
    assert programme.add(0, (1,))
    assert not programme.add(0, (1,))
    assert programme.most(0, np.array([0.0, 4.0])) == pytest.approx(4.0)

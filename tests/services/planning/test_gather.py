"""The fixed times of a shipment, and what its route means for the filling of bags."""

from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_shipment import OK_SMALL, PACKED_ON, REFERENCE, TODAY, inputs, leg

from ramet.domain.errors import BadInput
from ramet.services.planning.gather import read_shipment

CLOCK = OK_SMALL.clock


def test_a_bag_sealed_first_and_opened_last_needs_the_longest() -> None:
    # Worked by hand: 4 bags of 6 min, an hour to close, 20 h from departure (14:00) to due (10:00).
    assert CLOCK.per_bag_h == pytest.approx(0.1)
    assert CLOCK.closing_h == pytest.approx(REFERENCE.parameter("box_closing_min").band.typical / 60)
    assert CLOCK.needed_h(4, 1, 4) == pytest.approx(CLOCK.closing_h + 4 * 0.1 + 20 + 4 * 0.1)
    assert CLOCK.needed_h(4, 4, 1) == pytest.approx(CLOCK.closing_h + 1 * 0.1 + 20 + 1 * 0.1)


@given(bags=st.integers(1, 60), data=st.data())
def test_no_bag_needs_less_than_the_journey(bags: int, data: st.DataObject) -> None:
    sealing, opening = (data.draw(st.integers(1, bags)) for _ in range(2))
    needed = CLOCK.needed_h(bags, sealing, opening)
    assert CLOCK.needed_h(bags, bags, 1) <= needed <= CLOCK.needed_h(bags, 1, bags)
    assert needed > (CLOCK.due - CLOCK.departs).total_seconds() / 3600


@given(bags=st.integers(1, 60))
def test_sealing_starts_when_the_first_bag_must_be_closed(bags: int) -> None:
    started = CLOCK.sealed_from(bags)
    assert CLOCK.departs - started == timedelta(hours=CLOCK.sealed_before_h(bags, 1))


def test_bags_are_packed_on_the_day_of_departure() -> None:
    assert OK_SMALL.packed_on == PACKED_ON


def test_bags_are_filled_less_where_a_leg_is_flown() -> None:
    flown = inputs(leg=[leg(15, 20, "aircraft")])
    thin_air = inputs(leg=[leg(15, 20) | {"pressure_atm": 0.75}])
    assert not OK_SMALL.by_air
    assert flown.by_air
    assert thin_air.by_air
    # At 0.75 atm gas swells by a third (Boyle's law): what fills more than three quarters would burst.
    assert flown.fill_share < OK_SMALL.fill_share
    assert flown.fill_share * 1.0 <= 0.80


def test_a_shipment_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as told:
        read_shipment(tmp_path / "none.toml", TODAY, REFERENCE)
    assert str(tmp_path / "none.toml") in str(told.value)

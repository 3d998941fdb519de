"""Bags in their boxes: names, the order of sealing and opening, and the hours that each needs."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_shipment import OK_SMALL, small_stages

from ramet.services.planning.loads import Load, in_opening_order, to_loads

CLOCK = OK_SMALL.clock


def loads() -> tuple[Load, ...]:
    packed = small_stages().packed
    return to_loads(packed.result, packed.parcels, small_stages().boxes, CLOCK)


def test_bags_are_named_by_their_box_and_sealed_from_the_bottom_up() -> None:
    got = loads()
    assert [load.id for load in got] == [f"A{number}" for number in range(1, len(got) + 1)]
    sealing = sorted(got, key=lambda load: load.sealing_order)
    assert [load.sealing_order for load in sealing] == list(range(1, len(got) + 1))
    heights = [load.at_mm[2] for load in sealing]
    assert heights == sorted(heights)


def test_a_bag_sealed_earlier_waits_longer() -> None:
    sealing = sorted(loads(), key=lambda load: load.sealing_order)
    waits = [load.sealed_before_h for load in sealing]
    assert waits == sorted(waits, reverse=True)


@given(slack=st.permutations(range(4)))
def test_the_thinnest_bag_is_opened_first_and_needs_the_least(slack: list[int]) -> None:
    got = [replace(load, sealed_before_h=1.0) for load in loads()]
    holds = {load.id: 20.0 + hours for load, hours in zip(got, slack, strict=True)}
    opened = sorted(in_opening_order(got, holds, CLOCK), key=lambda load: load.opening_order)
    assert [holds[load.id] for load in opened] == sorted(holds.values())
    assert [load.opening_order for load in opened] == [1, 2, 3, 4]
    for load in opened:
        # Sealed an hour before it leaves, 20 h until the due time, 6 min to open each bag.
        assert load.needed_h == pytest.approx(1.0 + 20.0 + 0.1 * load.opening_order)

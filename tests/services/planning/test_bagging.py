"""Ways to bag a body: geometry of a filled bag, water over the coral, doubled bags."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.domain.words import BagClass, Form, Gas, Stance
from ramet.reference.tables import load_reference
from ramet.services.planning.bagging import Content, FilledBag, layers_for, ways

REFERENCE = load_reference()
FRAG = Content((40, 30, 45), 40, BagClass.STONY, Form.BRANCHING)


def test_a_filled_bag_is_as_wide_as_geometry_says() -> None:
    # A flat bag of 6 in filled round is 2 * 152.4 / pi = 97 mm across (circumference = twice the flat width).
    bag = FilledBag(REFERENCE.bags["round_152x305"], 1.0)
    assert bag.across_mm == pytest.approx(2 * 152 / math.pi)
    assert bag.long_mm * math.pi * (bag.across_mm / 2) ** 2 == pytest.approx(1e6)


@given(share=st.floats(0.01, 1.0))
def test_water_in_a_lying_bag_never_exceeds_the_fill_and_rises_with_depth(share: float) -> None:
    bag = FilledBag(REFERENCE.bags["round_102x254"], 0.4)
    water = bag.water_l(Stance.LIES, share * bag.across_mm)
    assert 0 <= water <= 0.4 + 1e-9
    assert water <= bag.water_l(Stance.LIES, bag.across_mm) + 1e-12
    assert bag.water_l(Stance.LIES, bag.across_mm / 2) == pytest.approx(0.2)


def test_water_covers_the_coral_in_every_way() -> None:
    cover = REFERENCE.parameter("water_cover_mm").band.typical
    for way in ways(FRAG, REFERENCE, 0.78, Gas.AIR, 3):
        filled = FilledBag(way.type, way.water_l + way.gas_l)
        depth = FRAG.size_mm[2] if way.stance is Stance.STANDS else min(FRAG.size_mm)
        assert way.water_l >= filled.water_l(way.stance, depth + cover) - 1e-3


def test_a_bag_is_never_filled_beyond_its_share() -> None:
    for way in ways(FRAG, REFERENCE, 0.78, Gas.AIR, 5):
        assert way.water_l + way.gas_l <= 0.78 * way.type.closed_l + 1e-3


def test_no_bag_presses_tissue_on_its_film() -> None:
    free = REFERENCE.parameter("bag_clearance_mm").band.typical
    for way in ways(Content((70, 60, 40), 90, BagClass.STONY, Form.MASSIVE), REFERENCE, 0.78, Gas.AIR, 4):
        assert min(way.size_mm[0], way.size_mm[1]) >= 70 + 2 * free - 1


def test_a_colony_wider_than_every_bag_has_no_way() -> None:
    assert (
        ways(Content((400, 400, 300), 900, BagClass.STONY, Form.MASSIVE), REFERENCE, 0.78, Gas.AIR, 3) == ()
    )


def test_soft_corals_and_sharp_skeletons_travel_doubled() -> None:
    # Common practice, no source: a soft coral travels in water of its own, doubled; branches pierce film.
    bag = REFERENCE.bags["round_152x305"]
    assert layers_for(bag, Content((50, 40, 50), 40, BagClass.SOFT, Form.LEATHER)) == 2
    assert layers_for(bag, FRAG) == 2
    assert layers_for(bag, Content((50, 40, 30), 60, BagClass.STONY, Form.MASSIVE)) == 1

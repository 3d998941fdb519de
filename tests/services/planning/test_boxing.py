"""Billing arithmetic of carriers, and packs in the lid."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramet.formats.shipment import Carrier
from ramet.reference.tables import load_reference
from ramet.services.planning.boxing import ReadyBox, billed_kg, dimensional_kg, with_packs

LB_KG = 0.45359237
IN_MM = 25.4


def in_pounds(divisor_in3_lb: float) -> Carrier:
    return Carrier(divisor_cm3_kg=divisor_in3_lb * 2.54**3 / LB_KG, side_rounding="none", mass_step_kg=LB_KG)


# US carriers' dimensional weight: cubic inches over 139 (daily rates) or 166 (retail, post), rounded up to a
# whole pound; divisors as published by the carriers, worked by hand.
@pytest.mark.parametrize(
    ("sides_in", "divisor", "pounds"),
    [
        ((12, 12, 12), 139, 13),
        ((12, 12, 12), 166, 11),
        ((18, 14, 12), 139, 22),
        ((18, 14, 12), 166, 19),
        ((15, 12, 10), 139, 13),
        ((15, 12, 10), 166, 11),
    ],
)
def test_dimensional_mass_is_what_carriers_bill(sides_in: tuple[int, ...], divisor: int, pounds: int) -> None:
    sides = tuple(side * IN_MM for side in sides_in)
    assert dimensional_kg(sides, in_pounds(divisor)) == pytest.approx(pounds * LB_KG, abs=2e-3)


# Air freight divides cubic centimetres by 5,000 or 6,000: 18 x 14 x 12 in are 9.91 and 8.26 kg (worked).
@pytest.mark.parametrize(("divisor", "kg"), [(5000, 9.91), (6000, 8.26)])
def test_dimensional_mass_by_the_metric_divisors(divisor: int, kg: float) -> None:
    carrier = Carrier(divisor_cm3_kg=divisor, side_rounding="none", mass_step_kg=0.01)
    assert dimensional_kg((18 * IN_MM, 14 * IN_MM, 12 * IN_MM), carrier) == pytest.approx(kg, abs=0.011)


def test_sides_are_rounded_before_they_are_multiplied() -> None:
    nearest = Carrier(divisor_cm3_kg=5000, side_rounding="nearest_cm", mass_step_kg=0.001)
    up = Carrier(divisor_cm3_kg=5000, side_rounding="up_cm", mass_step_kg=0.001)
    assert dimensional_kg((304, 304, 304), nearest) == pytest.approx(30**3 / 5000)
    assert dimensional_kg((301, 301, 301), up) == pytest.approx(31**3 / 5000, abs=1e-3)


# A box of 18.03 x 15.28 x 14.09 in: 18 x 15 x 14 = 3780 in3, over 139 are 27.2, so 28 lb; each side up,
# 19 x 16 x 15 = 4560 in3 are 32.8, so 33 lb (worked).
@pytest.mark.parametrize(("rounding", "pounds"), [("nearest_in", 28), ("up_in", 33)])
def test_sides_are_rounded_to_inches_where_the_carrier_does(rounding: str, pounds: int) -> None:
    carrier = in_pounds(139).model_copy(update={"side_rounding": rounding})
    assert dimensional_kg((458, 388, 358), carrier) == pytest.approx(pounds * LB_KG, abs=1e-3)


@given(mass=st.floats(0.01, 70), step=st.sampled_from([0.1, 0.5, 1.0, LB_KG]))
def test_a_billed_mass_is_never_less_than_the_mass_nor_a_step_more(mass: float, step: float) -> None:
    billed = billed_kg(mass, Carrier(mass_step_kg=step))
    assert mass - 1e-3 <= billed < mass + step + 1e-3


def test_packs_hang_under_the_lid_and_keep_their_air_gap() -> None:
    reference = load_reference()
    type_ = reference.boxes["winter_350"]
    box = ReadyBox("A", type_, (350, 280, 250), (458, 388, 358), 2.2, 20.0, 8.0)
    pack = reference.packs["heat_40h"]
    packed = with_packs(box, [pack, pack], "cold night")
    assert packed is not None
    assert [one.at_mm[2] + one.size_mm[2] for one in packed.packs] == [250, 250]
    first, second = packed.packs
    assert first.at_mm[0] + first.size_mm[0] == second.at_mm[0]
    for one in packed.packs:
        assert one.keep_at_mm[2] == one.at_mm[2] - math.ceil(pack.air_gap_mm)
    assert with_packs(box, [pack] * 5) is None
    assert packed.empty_kg == pytest.approx(2.2 + 2 * pack.mass_kg)


def test_no_bag_comes_to_touch_a_pack_that_needs_no_air() -> None:
    reference = load_reference()
    box = ReadyBox("A", reference.boxes["winter_350"], (350, 280, 250), (458, 388, 358), 2.2, 20.0, 8.0)
    pack = reference.packs["pcm_22_454g"]
    assert pack.air_gap_mm == 0
    packed = with_packs(box, [pack])
    assert packed is not None
    (one,) = packed.packs
    assert [at - low for at, low in zip(one.at_mm, one.keep_at_mm, strict=True)] == [1, 1, 1]

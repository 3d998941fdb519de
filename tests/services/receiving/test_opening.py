"""What is done with a bag, and when; ramps and dips are common practice without a source."""

import math
from dataclasses import replace

import pytest
from small_tank import reference, soft, stony, tank

from ramet.services.receiving.arriving import ArrivingBag, Visit
from ramet.services.receiving.opening import acclimation

VISIT = Visit(per_bag_min=5, early_min=15)


def bag(name="B1", celsius=22.0, margin=3.0, salinity=35.0, order=0):
    return ArrivingBag(name, 0.5, celsius, margin, salinity, order)


def opened(*bags, pieces=(), visit=VISIT, **water):
    return acclimation(reference(), tank(**water), bags, pieces, visit)


def test_bags_are_opened_in_the_order_given_else_by_margin():
    thin, wide = bag("B1", margin=1.0), bag("B2", margin=9.0)
    assert [one.bag for one in opened(wide, thin)] == ["B1", "B2"]
    assert [one.bag for one in opened(replace(wide, order=1), replace(thin, order=2))] == ["B2", "B1"]


def test_the_clock_of_a_bag_runs_through_floating_opening_dip_and_place():
    first, second = opened(bag(), bag("B2", order=1), pieces=[stony(bag="B1")])[:2]
    clock = first.clock
    # The boxes stand there 15 min early, so a bag that floats 15 min is opened on the hour.
    assert clock.open_at == first.float_min - 15
    assert clock.matched_at == clock.open_at + 5
    assert clock.dip_until == clock.matched_at + first.dip_min
    assert clock.place_from == clock.dip_until + 2
    assert second.clock.open_at >= clock.open_at + 5


def test_floating_is_newtons_law_in_steps_of_five_minutes():
    # tau = m c / (U A); half a litre, 500 V^(2/3) cm² wet, U 80 W/m²K, seawater 1.0245 kg/L × 3998 J/kg/K.
    tau = 0.5 * 1.0245 * 3998 / (80 * 500 * 0.5 ** (2 / 3) / 1e4) / 60
    exact = tau * math.log((25 - 22) / 1)
    assert opened(bag(celsius=22.0))[0].float_min == math.ceil(exact / 5) * 5


@pytest.mark.parametrize(("salinity", "minutes"), [(35.0, 0), (33.5, 0), (32.0, 30), (29.0, 60), (None, 0)])
def test_the_ramp_goes_by_the_difference_of_salinity(salinity, minutes):
    assert opened(bag(salinity=salinity))[0].ramp_min == minutes


def test_each_genus_has_its_own_list_and_class_of_dip():
    one, other = opened(bag("B1"), bag("B2"), pieces=[stony(bag="B1"), soft(bag="B2")])
    assert any(line.startswith("Acropora:") and "flatworm" in line for line in one.inspect)
    assert any(line.startswith("any mount:") and "anemone" in line for line in one.inspect)
    assert one.dip != other.dip
    assert "smooth-skinned" in one.dip


def test_the_dip_waits_when_a_limit_breaks_or_the_bag_is_cold():
    assert opened(bag(margin=-1.0))[0].postpone.startswith("put the dip off")
    assert "17.0 °C" in opened(bag(celsius=17.0), pieces=[stony(bag="B1")])[0].postpone
    assert opened(bag())[0].postpone == ""


def test_goods_are_neither_inspected_nor_dipped():
    only = opened(bag("G1"))[0]
    assert (only.inspect, only.dip, only.dip_min) == ((), "", 0)


def test_no_step_names_a_drug_or_a_dose():
    steps = " ".join(" ".join((one.dip, *one.steps)) for one in opened(bag(), pieces=[stony(bag="B1")]))
    assert "mg/L" not in steps
    assert not any(word in steps.lower() for word in ("milbemycin", "levamisole", "praziquantel"))

"""What the receiving tank can take, as resources of the choice."""

import math
from dataclasses import replace

import pytest
from small_shipment import OK_SMALL, STOCK, inputs, small_stages

from ramet.services.planning.tank_room import ALKALINITY, AMMONIA, FLOOR, tank_room

TANK = {"volume_l": 300, "alkalinity_dkh": 8, "calcium_mg_l": 420, "magnesium_mg_l": 1300}
ZONE = {"name": "crest", "area_cm2": 700, "par_low": 80, "par_high": 200}


def capacities(**tank: object) -> dict[str, int]:
    return dict(tank_room(inputs(tank=TANK | tank)).capacities)


def test_a_tank_that_states_nothing_caps_nothing() -> None:
    assert capacities() == {}
    assert tank_room(OK_SMALL).uses(small_stages().found.candidates[0]) == {}


def test_the_floor_is_the_sum_of_the_zones() -> None:
    zones = [ZONE, ZONE | {"name": "floor", "area_cm2": 800.5}]
    assert capacities(zone=zones) == {FLOOR: 1500}


def test_dosed_alkalinity_less_the_tanks_own_use_is_free() -> None:
    # Worked by hand: 60 mL a day of a stock of 1868 meq/L are 112.08 meq; 300 L that lose 0.05 dKH a day of
    # their own lose 0.05 x 300 x 17.848 / 50.0435 = 5.35 meq (1 dKH is 17.848 mg/L as CaCO3).
    stock = {"name": "carbonate", "alkalinity_meq_l": 1868, "most_ml_d": 60}
    assert capacities(dosing=[stock])[ALKALINITY] == pytest.approx(112_080 - 5_350, abs=2)


def test_a_supply_that_the_tank_itself_uses_up_leaves_nothing() -> None:
    stock = {"name": "carbonate", "alkalinity_meq_l": 100, "most_ml_d": 1}
    assert capacities(dosing=[stock])[ALKALINITY] == 0


def test_media_in_the_tank_or_with_the_boxes_cap_the_ammonia() -> None:
    media = {"name": "blocks", "area_m2": 2.0, "age_weeks": 20}
    more = capacities(media=[media | {"area_m2": 4.0}])[AMMONIA]
    assert more > capacities(media=[media])[AMMONIA] > 0


def test_plain_goods_are_no_biofilter_and_media_are() -> None:
    plain = {"name": "crate", "kind": "plain", "size_mm": [60, 40, 40], "mass_g": 100}
    media = plain | {"kind": "matured_media", "area_m2": 0.2, "age_weeks": 60}
    assert dict(tank_room(inputs(goods=[plain])).capacities) == {}
    assert tank_room(inputs(goods=[media])).capacities[AMMONIA] > 0


def test_a_coral_takes_the_ground_it_covers() -> None:
    # Geometry: a footprint lies between nine tenths of an ellipse and the whole rectangle about it.
    room = tank_room(inputs(tank=TANK | {"zone": [ZONE]}))
    for one in small_stages().found.candidates:
        length, width, _ = one.size_mm
        rectangle_cm2 = length * width / 100
        taken = room.uses(one)[FLOOR]
        assert 0.7 * math.pi / 4 * rectangle_cm2 - 1 <= taken <= rectangle_cm2 + 1


def test_a_larger_coral_takes_more_of_everything() -> None:
    stock = {"name": "carbonate", "alkalinity_meq_l": 1868, "most_ml_d": 60}
    media = {"name": "blocks", "area_m2": 2.0, "age_weeks": 20}
    room = tank_room(inputs(STOCK, tank=TANK | {"zone": [ZONE], "dosing": [stock], "media": [media]}))
    small = next(one for one in small_stages().found.candidates if one.taxon.startswith("Favites"))
    large = replace(small, size_mm=(90.0, 90.0, 60.0))
    taken, more = room.uses(small), room.uses(large)
    assert set(taken) == {ALKALINITY, AMMONIA, FLOOR}
    assert all(more[name] > taken[name] for name in taken)

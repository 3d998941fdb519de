"""Packs for each box, from the temperature that its mean bag is expected to have."""

import numpy as np
from small_shipment import HONEYCOMB, NO_PACKS, OK_SMALL, REFERENCE, STOCK, TOADSTOOL, inputs, leg, request

from ramet.services.planning.boxing import ReadyBox, ready_boxes
from ramet.services.planning.candidates import find_candidates
from ramet.services.planning.expected_heat import ExpectedHeat, equip, expected_water_l
from ramet.services.planning.gather import Inputs
from ramet.services.planning.road import horizon_h

COLD, HOT = [leg(9, 14)], [leg(29, 36)]


def line(**changes: object) -> Inputs:
    return inputs(request=[HONEYCOMB], **({"gear": {}} | changes))


def equipped(given: Inputs) -> tuple[tuple[ReadyBox, ...], tuple[ExpectedHeat, ...]]:
    return equip(given, find_candidates(given).candidates, ready_boxes(given))


def kinds(given: Inputs) -> list[str]:
    boxes, _ = equipped(given)
    return [pack.type.id for box in boxes for pack in box.packs]


def warming(given: Inputs) -> list[bool]:
    return [REFERENCE.packs[kind].warms for kind in kinds(given)]


def test_a_cold_route_gets_heat_packs_with_a_reason() -> None:
    boxes, _ = equipped(line(leg=COLD))
    packs = [pack for box in boxes for pack in box.packs]
    assert any(pack.type.warms for pack in packs)
    assert all("without packs" in pack.reason for pack in packs)


def test_a_carrier_that_takes_no_heat_packs_gets_none() -> None:
    assert not any(warming(line(leg=COLD, carrier={"heat_packs": "no"})))


def test_a_hot_route_gets_cooling_packs_only() -> None:
    given = warming(line(leg=HOT))
    assert given
    assert not any(given)


def test_packs_keep_to_what_is_at_hand() -> None:
    cool = [name for name, pack in REFERENCE.packs.items() if not pack.warms]
    assert not any(warming(line(leg=COLD, gear={"packs": NO_PACKS | dict.fromkeys(cool, 9)})))
    one_left = NO_PACKS | {"heat_40h": 1}
    two_boxes = line(leg=COLD, box=[{"type": "cube_305", "count": 2}], gear={"packs": one_left})
    assert kinds(two_boxes) == ["heat_40h"]


def test_packs_bring_the_mean_bag_nearer_to_where_corals_live() -> None:
    (_, (with_packs,)), (_, (bare,)) = (
        equipped(line(leg=COLD)),
        equipped(line(leg=COLD, gear={"packs": NO_PACKS})),
    )
    assert with_packs.bag_c.min() > bare.bag_c.min() + 1


def test_a_box_without_packs_ends_between_its_start_and_the_air_around_it() -> None:
    # A body without a source of heat never leaves the range of its own start and of its surroundings.
    _, (heat,) = equipped(line(leg=[leg(10, 10)], gear={"packs": NO_PACKS}))
    assert heat.bag_c.max() <= 25.2 + 1.5
    assert heat.bag_c[-1].mean() < 25.2
    assert heat.bag_c.min() > 10 - 3 * REFERENCE.parameter("forecast_error_c").band.typical


def test_boxes_that_are_alike_are_judged_as_one_kind() -> None:
    wishes = [{"type": "cube_305", "count": 2}, {"type": "frag_305x229"}]
    boxes, heat = equipped(line(box=wishes, gear={"packs": NO_PACKS}))
    assert [box.id for box in boxes] == ["A", "B", "C"]
    assert heat[0].kind == heat[1].kind != heat[2].kind
    assert np.array_equal(heat[0].bag_c, heat[1].bag_c)


def test_the_forecast_runs_at_least_two_days_past_the_longest_need() -> None:
    for bags in (1, 4, 30):
        assert horizon_h(OK_SMALL, bags) >= OK_SMALL.clock.needed_h(bags, 1, bags) + 48


def test_more_corals_are_expected_to_hold_more_water() -> None:
    many = inputs(STOCK, request=[request("many", count=6, taxon="Montipora"), TOADSTOOL | {"count": 2}])
    few, more = find_candidates(OK_SMALL).candidates, [*find_candidates(many).candidates] * 3
    assert expected_water_l(many, more) > expected_water_l(OK_SMALL, few)
    assert expected_water_l(OK_SMALL, ()) > 0

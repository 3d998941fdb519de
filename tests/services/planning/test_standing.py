"""The choice goes on without what finds no place in the tank, and says by which number."""

from collections import Counter

import pytest
from small_shipment import DIGITS, HONEYCOMB, inputs

from ramet.check.plan_check import check_plan
from ramet.formats.plan import Plan
from ramet.services.planning.plan import make_plan
from ramet.services.planning.tank_room import scarce_words

TANK = {"volume_l": 300, "alkalinity_dkh": 8, "calcium_mg_l": 420, "magnesium_mg_l": 1300}
BRIGHT = {"par": 220.0, "flow_cm_s": 12.0}


def planned(*spots: dict[str, object], **tank: object) -> Plan:
    requests = [DIGITS, HONEYCOMB]
    return make_plan(inputs(request=requests, tank=TANK | {"spot": list(spots)} | tank))


def reasons(plan: Plan, request: str) -> dict[str, str]:
    left = next(one for one in plan.left_out if one.request == request)
    return {one.code: one.text for one in left.reasons}


def test_a_tank_with_room_takes_both_and_draws_them() -> None:
    plan = planned({"at_mm": (300, 300), **BRIGHT}, {"at_mm": (900, 300), **BRIGHT})
    assert plan.status == "ready"
    assert {one.at_mm for one in plan.tank.placement} == {(300, 300), (900, 300)}
    assert check_plan(plan, inputs().reference) == ()


def test_one_spot_takes_one_piece_and_the_other_stays_with_the_number_of_spots() -> None:
    plan = planned({"at_mm": (300, 300), **BRIGHT})
    assert len(plan.chosen) == 1
    (left,) = plan.left_out
    told = " ".join(reasons(plan, left.request).values())
    assert "spots of the tank: 1 in all, 1 taken by what goes; one more takes 1" in told


def test_two_spots_too_near_to_each_other_leave_one_behind_by_the_distance() -> None:
    plan = planned({"at_mm": (300, 300), **BRIGHT}, {"at_mm": (330, 300), **BRIGHT})
    assert len(plan.chosen) == 1
    (left,) = plan.left_out
    assert "finds no place in the tank" in reasons(plan, left.request)["no_place"]
    assert "mm short" in reasons(plan, left.request)["no_place"]


def test_a_dark_tank_takes_nothing_and_names_the_light() -> None:
    plan = planned(*({"at_mm": (200 + 100 * n, 300), "par": 20.0} for n in range(5)))
    assert plan.chosen == ()
    assert plan.status == "impossible"
    told = " ".join(reason.text for left in plan.left_out for reason in left.reasons)
    assert "µmol/m²/s of light: 0 in all" in told


def test_on_a_grid_of_our_own_a_piece_without_a_place_still_goes() -> None:
    # Zones tell areas, not places: the plan keeps the piece and the tank's report has the caution.
    zone = {"name": "shelf", "area_cm2": 400, "par_low": 100, "par_high": 300}
    plan = make_plan(
        inputs(
            request=[DIGITS, HONEYCOMB],
            tank=TANK | {"zone": [zone], "length_mm": 180, "width_mm": 180},
        )
    )
    assert Counter(one.at_mm is None for one in plan.tank.placement)[True] == 1
    assert len(plan.chosen) == 2


@pytest.mark.parametrize(
    ("name", "capacity", "used", "one_more", "text", "would"),
    [
        ("spots of the tank", 3, 3, 1, "3 in all, 3 taken by what goes; one more takes 1", "1 more spots"),
        (
            "alkalinity supply of the tank (µeq a day)",
            171_000,
            165_000,
            9_800,
            "171 meq in all, 165 meq taken by what goes; one more takes 9.8 meq a day",
            "3.8 meq a day more alkalinity supply",
        ),
    ],
)
def test_what_is_scarce_is_told_by_its_numbers(
    name: str, capacity: int, used: int, one_more: int, text: str, would: str
) -> None:
    told, change = scarce_words(name, capacity, used, one_more)
    assert text in told
    assert would in change

"""Each caution of the table is given exactly when its condition holds."""

from dataclasses import replace

import pytest
from small_shipment import OK_SMALL, REFERENCE, inputs, leg, small_stages

from ramet.domain.piece import Hold
from ramet.domain.words import Gas, How
from ramet.formats.plan import BagForecast
from ramet.services.planning.boxing import ReadyBox, with_packs
from ramet.services.planning.cautions import cautions
from ramet.services.planning.forecast_rows import forecast_rows
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load

LOADS = small_stages().packed.loads
BAGS = forecast_rows(OK_SMALL, small_stages().packed.loaded).bags
BARE = tuple(replace(box, packs=()) for box in small_stages().boxes)


def codes(
    given: Inputs = OK_SMALL,
    loads: tuple[Load, ...] = LOADS,
    boxes: tuple[ReadyBox, ...] = BARE,
    bags: tuple[BagForecast, ...] = BAGS,
) -> set[str]:
    return {one.code for one in cautions(given, loads, boxes, bags)}


def only(genus: str) -> tuple[Load, ...]:
    return tuple(
        load for load in LOADS if load.parcel.candidate and load.parcel.candidate.taxon.startswith(genus)
    )


def test_some_are_always_given_and_every_one_has_a_source() -> None:
    always = {row.code for row in REFERENCE.cautions if row.applies == "always"}
    assert always <= codes()
    assert all(one.source for one in cautions(OK_SMALL, LOADS, BARE, BAGS))


def test_thin_branch_tips_are_told_to_break_when_branching_corals_go() -> None:
    # Common practice, no source: thin branch tips are expected to break.
    assert "brittle_tips" in codes(loads=only("Montipora"))
    assert "brittle_tips" not in codes(loads=only("Favites"))


@pytest.mark.parametrize(
    ("genus", "given", "not_given"),
    [
        ("Zoanthus", {"palytoxin", "palytoxin_cleanup"}, {"cites", "soft", "tissue_on_film"}),
        ("Sarcophyton", {"soft"}, {"palytoxin", "cites"}),
        ("Favites", {"cites", "tissue_on_film"}, {"palytoxin", "soft"}),
    ],
)
def test_what_goes_decides(genus: str, given: set[str], not_given: set[str]) -> None:
    got = codes(loads=only(genus))
    assert given <= got
    assert got.isdisjoint(not_given)


def test_a_cut_that_shares_a_bag_with_a_whole_piece_is_warned_of() -> None:
    (load,) = only("Zoanthus")
    whole = load.parcel.candidates[0]
    both = replace(load.parcel, candidates=(whole, replace(whole, piece="Z9", how=How.CUT, mother="Z2")))
    assert {"rest_after_cut", "saw_aerosol"} <= codes(loads=(replace(load, parcel=both),))
    assert {"rest_after_cut", "saw_aerosol"}.isdisjoint(codes(loads=(load,)))


def test_oxygen_is_warned_of_only_when_some_bag_has_it() -> None:
    for gas in Gas:
        way = replace(LOADS[0].judged.way, gas=gas)
        load = replace(LOADS[0], judged=replace(LOADS[0].judged, way=way))
        assert ("oxygen" in codes(loads=(load,))) == (gas is Gas.OXYGEN)


def test_heat_packs_are_warned_of_and_asked_about_when_the_carrier_has_not_said() -> None:
    box = with_packs(BARE[0], [REFERENCE.packs["heat_40h"]], "cold night")
    assert box is not None
    asked = inputs(carrier={"live_aquatics": "yes", "heat_packs": "unknown"})
    assert {"heat_pack", "carrier_heat_unknown"} <= codes(asked, boxes=(box,))
    assert "carrier_heat_unknown" not in codes(boxes=(box,))
    assert codes().isdisjoint({"heat_pack", "cold_pack", "carrier_heat_unknown"})


def test_a_carrier_who_has_not_said_whether_live_animals_go_is_asked() -> None:
    assert "carrier_unknown" in codes(inputs(carrier={"live_aquatics": "unknown"}))
    assert "carrier_unknown" not in codes()


def test_a_cold_leg_is_told() -> None:
    assert "depot_hold" in codes(inputs(leg=[leg(4.9, 9)]))
    assert "depot_hold" not in codes()


def test_children_at_the_tank_are_told_and_what_could_harm_them() -> None:
    receiver = {"name": "Plains Library", "lay_hands": True}
    assert {"lay_hands", "lay_hands_toxic"} <= codes(inputs(receiver=receiver), only("Zoanthus"))
    assert "lay_hands_toxic" not in codes(inputs(receiver=receiver), only("Favites"))
    assert codes().isdisjoint({"lay_hands", "lay_hands_toxic"})


def test_thin_and_late_margins_are_told_apart() -> None:
    wanted = REFERENCE.parameter("margin_wanted_h").band.typical
    wide = BAGS[0].model_copy(update={"margin_h": wanted + 1, "margin_late_h": 1.0})
    thin = wide.model_copy(update={"margin_h": wanted - 0.1})
    late = wide.model_copy(update={"margin_late_h": -0.1})
    told = [codes(bags=(bag,)) & {"thin_margin", "late_margin"} for bag in (wide, thin, late)]
    assert told == [set(), {"thin_margin"}, {"late_margin"}]


def test_a_health_hold_is_told_with_its_contacts_even_when_nobody_wished_for_them() -> None:
    holds = [
        Hold("D1", "montipora_nudibranch", True, OK_SMALL.today, "three clean inspections"),
        Hold("D2", "montipora_nudibranch", False, OK_SMALL.today, "three clean inspections"),
    ]
    (text,) = [
        one.text for one in cautions(inputs(holds=holds), LOADS, BARE, BAGS) if one.code == "health_hold"
    ]
    assert "found on D1" in text
    assert "D2" in text
    assert "three clean inspections" in text
    assert "health_hold" not in codes()

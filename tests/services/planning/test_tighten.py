"""A choice that does not hold where it stands is made again; what cannot be made to hold stays behind."""

from small_shipment import (
    HONEYCOMB,
    OK_SMALL,
    TOADSTOOL,
    find_bag_options,
    find_candidates,
    inputs,
    leg,
    ready_boxes,
    small_stages,
)

from ramet.services.planning.expected_heat import equip
from ramet.services.planning.listening import Listener
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import Packed, choose_until_it_holds

MILD = inputs(request=[HONEYCOMB, TOADSTOOL])
COLD = inputs(request=[HONEYCOMB, TOADSTOOL], leg=[leg(7, 11)])


def packed_in_the_cold(heard: list[str]) -> Packed:
    """Bags judged by a mild route, sent over a cold one: none of them holds where it stands."""
    found = find_candidates(MILD)
    boxes, heat = equip(MILD, found.candidates, ready_boxes(MILD))
    parcels = find_bag_options(MILD, found.candidates, heat).parcels
    return choose_until_it_holds(COLD, found, parcels, boxes, tank_room(COLD), Listener(heard.append))


HEARD: list[str] = []
PACKED = packed_in_the_cold(HEARD)


def test_a_want_that_cannot_be_made_to_hold_stays_behind_and_is_told() -> None:
    gone = {load.parcel.line for load in PACKED.loads}
    assert 1 not in gone
    told = [one for one in PACKED.refusals if one.request == 1]
    assert told
    assert {one.code for one in told} == {"does_not_hold"}
    assert all("h short in box A" in one.text and one.would_fit_if for one in told)


def test_a_must_that_does_not_hold_is_kept_and_shown_short() -> None:
    assert 0 in {load.parcel.line for load in PACKED.loads}
    assert all(one.request != 0 for one in PACKED.refusals)
    assert min(PACKED.loaded.margin_h(bag) for bag in range(len(PACKED.loads))) < 0


def test_every_further_round_is_told() -> None:
    assert any(words.startswith("choosing again") for words in HEARD)


def test_a_choice_that_holds_is_taken_at_once() -> None:
    packed = small_stages().packed
    assert packed.refusals == ()
    assert packed.parcels == small_stages().options.parcels
    assert all(packed.loaded.margin_h(bag) >= 0 for bag in range(len(packed.loads)))
    assert OK_SMALL.shipment.request[0].id == packed.problem.lines[0].id

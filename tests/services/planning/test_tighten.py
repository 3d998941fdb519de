"""A choice that does not hold where it stands is made again; what cannot be made to hold stays behind."""

from small_shipment import (
    HONEYCOMB,
    OK_SMALL,
    TOADSTOOL,
    find_bag_options,
    find_candidates,
    inputs,
    leg,
    piece,
    ready_boxes,
    request,
    small_stages,
)

from ramet.services.planning.expected_heat import equip
from ramet.services.planning.gather import Inputs
from ramet.services.planning.listening import Listener
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import Packed, choose_until_it_holds

MILD = inputs(request=[HONEYCOMB, TOADSTOOL])
COLD = inputs(request=[HONEYCOMB, TOADSTOOL], leg=[leg(7, 11)])


def packed_in_the_cold(heard: list[str], mild: Inputs = MILD, cold: Inputs = COLD) -> Packed:
    """Bags judged by a mild route, sent over a cold one: none of them holds where it stands."""
    found = find_candidates(mild)
    boxes, heat = equip(mild, found.candidates, ready_boxes(mild))
    parcels = find_bag_options(mild, found.candidates, heat).parcels
    return choose_until_it_holds(cold, found, parcels, boxes, tank_room(cold), Listener(heard.append))


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


def test_no_want_or_filler_is_sent_that_would_not_hold_however_many_there_are() -> None:
    # Several ways and boxes each: giving up one way of each a round would not be done in time.
    many = [piece(f"P{k}", f"Pier {k}", "Favites abdita", "massive", 40 + k) for k in range(8)]
    lines = [
        HONEYCOMB | {"last_of_strain": True},
        request("more", "want", 4, taxon="Favites", last_of_strain=True, may_cut=False),
        request("rest", "filler", 3, taxon="Favites", last_of_strain=True, may_cut=False),
    ]
    mild = inputs(many, request=lines, box=[{"type": "cube_305", "count": 2}])
    cold = inputs(many, request=lines, box=[{"type": "cube_305", "count": 2}], leg=[leg(7, 11)])
    packed = packed_in_the_cold([], mild, cold)
    assert {load.parcel.line for load in packed.loads} == {0}
    assert {one.code for one in packed.refusals} == {"does_not_hold"}
    assert any("promises no more than" in one.text for one in packed.refusals)

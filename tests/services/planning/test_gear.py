"""Bags at hand go to the higher rank, and whoever gets none is told."""

from small_shipment import BUTTONS, HONEYCOMB, REFERENCE, inputs, run_stages

ONE_BAG = {"oxygen": True, "packs": dict.fromkeys(REFERENCE.packs, 0)}


def with_bags(**at_hand: int) -> dict[str, object]:
    return {"gear": ONE_BAG | {"bags": dict.fromkeys(REFERENCE.bags, 0) | at_hand}}


def test_the_last_bag_goes_to_the_must_and_the_want_is_told() -> None:
    given = inputs(request=[HONEYCOMB, BUTTONS | {"rank": "want"}], **with_bags(round_127x305=1))
    stages = run_stages(given)
    assert [load.parcel.line for load in stages.packed.loads] == [0]
    (buttons,) = [line for line in stages.missing if line.request == "buttons"]
    assert "no_bag_left" in {reason.code for reason in buttons.reasons}


def test_no_more_bags_of_a_size_go_than_are_at_hand() -> None:
    given = inputs(**with_bags(round_127x305=2, round_152x305=1, cup_480=1))
    taken = [load.way.type.id for load in run_stages(given).packed.loads for _ in range(load.way.layers)]
    assert taken.count("round_127x305") <= 2
    assert taken.count("round_152x305") <= 1
    assert taken.count("cup_480") <= 1

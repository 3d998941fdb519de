"""Ready, short, wait, impossible: what each takes, in the words a grower reads first."""

from dataclasses import replace

from small_shipment import OK_SMALL, inputs, small_stages

from ramet.domain.words import Rank, Status
from ramet.formats.plan import BagForecast, LeftOut, Reason
from ramet.services.planning.forecast_rows import forecast_rows
from ramet.services.planning.gather import Inputs
from ramet.services.planning.verdict import judge

LOADS = small_stages().packed.loads
BAGS = forecast_rows(OK_SMALL, small_stages().packed.loaded).bags


def missing(rank: Rank) -> LeftOut:
    why = Reason(code="no_room", text="no room", would_fit_if="one more box")
    return LeftOut(request="bush", rank=rank, wanted=1, sent=0, reasons=(why,))


def with_margin(margin_h: float) -> tuple[BagForecast, ...]:
    return (BAGS[0].model_copy(update={"margin_h": margin_h}), *BAGS[1:])


def verdict(
    given: Inputs = OK_SMALL,
    bags: tuple[BagForecast, ...] = BAGS,
    left: tuple[LeftOut, ...] = (),
    calendar: tuple[str, ...] = (),
) -> tuple[Status, str]:
    return judge(given, LOADS, bags, left, calendar)


def test_all_musts_go_and_every_bag_holds() -> None:
    status, words = verdict()
    assert status is Status.READY
    assert "4 pieces go in 4 bags and 1 box." in words


def test_one_piece_in_one_bag_is_counted_as_one() -> None:
    _, words = judge(OK_SMALL, LOADS[:1], BAGS[:1], (), ())
    assert "1 piece goes in 1 bag and 1 box." in words


def test_a_want_or_filler_left_behind_does_not_stop_the_boxes() -> None:
    assert verdict(left=(missing(Rank.WANT), missing(Rank.FILLER)))[0] is Status.READY


def test_a_must_left_behind_makes_it_short() -> None:
    status, words = verdict(left=(missing(Rank.MUST),))
    assert status is Status.SHORT
    assert "bush" in words


def test_a_bag_that_does_not_hold_makes_it_short_by_so_many_hours() -> None:
    assert verdict(bags=with_margin(0.0))[0] is Status.READY
    status, words = verdict(bags=with_margin(-1.26))
    assert status is Status.SHORT
    assert f"{BAGS[0].id} by 1.3 h" in words


def test_a_carrier_without_live_animals_makes_it_wait() -> None:
    status, words = verdict(inputs(carrier={"live_aquatics": "no"}))
    assert status is Status.WAIT
    assert "carrier" in words


def test_a_calendar_that_does_not_work_makes_it_wait_and_the_first_problem_is_told() -> None:
    status, words = verdict(calendar=("Too late to cut D3-c1.", "Something else."))
    assert status is Status.WAIT
    assert "Too late to cut D3-c1." in words
    assert "Something else" not in words


def test_nothing_to_send_is_impossible_whatever_else() -> None:
    assert judge(OK_SMALL, (), (), (missing(Rank.WANT),), ("late",))[0] is Status.IMPOSSIBLE


def test_a_late_journey_is_told_in_bags() -> None:
    late = tuple(bag.model_copy(update={"margin_late_h": -1.0}) for bag in BAGS[:2])
    assert f"2 of {len(BAGS)}" in verdict(bags=(*late, *_even(BAGS[2:])))[1]
    assert "Even a day late, all hold." in verdict(bags=_even(BAGS))[1]


def _even(bags: tuple[BagForecast, ...]) -> tuple[BagForecast, ...]:
    return tuple(bag.model_copy(update={"margin_late_h": 1.0}) for bag in bags)


def test_boxes_are_counted_by_those_that_hold_something() -> None:
    apart = (replace(LOADS[0], box="B"), *LOADS[1:])
    assert "2 boxes" in judge(OK_SMALL, apart, BAGS, (), ())[1]

"""Listening to a planning: what is heard of the search, and a stop that still gives a plan that holds."""

from small_shipment import OK_SMALL, REFERENCE, small_plan

from ramet.check.plan_check import check_plan
from ramet.services.planning.listening import Listener, SearchProgress
from ramet.services.planning.plan import make_plan


def test_every_goal_is_heard_with_its_bound_and_only_ever_gets_better() -> None:
    heard: list[SearchProgress] = []
    plan = make_plan(OK_SMALL, Listener(on_progress=heard.append))
    assert list(dict.fromkeys(one.goal for one in heard)) == [goal.goal for goal in plan.optimum.goals]
    for goal in plan.optimum.goals:
        values = [one.value for one in heard if one.goal == goal.goal]
        better = sorted(values, reverse=goal.goal.startswith("billed"))
        assert values == better
    assert all(one.gap == round(abs(one.bound - one.value) / max(1, abs(one.value)), 6) for one in heard)
    assert [one.seconds for one in heard] == sorted(one.seconds for one in heard)


def test_a_planning_stopped_at_once_gives_a_plan_that_holds_and_says_that_it_was_cut_short() -> None:
    plan = make_plan(OK_SMALL, Listener(asks_to_stop=lambda: True))
    assert plan.optimum.stopped_early
    assert plan.chosen
    assert check_plan(plan, REFERENCE) == ()


def test_a_listener_that_never_stops_changes_no_byte() -> None:
    assert make_plan(OK_SMALL, Listener()) == small_plan()


def test_once_asked_to_stop_it_stays_stopped() -> None:
    answers = iter([False, True, False])
    listener = Listener(asks_to_stop=lambda: next(answers))
    assert [listener.should_stop() for _ in range(3)] == [False, True, True]

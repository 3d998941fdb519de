"""Stopping a search: a packing that keeps every rule comes out, and the run says that it was cut short."""

import os
import signal
import threading
import time
from dataclasses import replace

import pytest
from judge import faults
from small import mixed

from ramet.optimise.choose import choose
from ramet.optimise.problem import Budget, Problem, Progress


def tight() -> Problem:
    """An instance of two layers with more than its one box holds: seconds go by before it is proven best."""
    p = mixed(3, layers=2, items=40)
    return replace(p, bins=p.bins[:1])


def test_a_stop_before_the_first_solve_leaves_the_quick_start() -> None:
    p = mixed(3, layers=2, items=40)
    result = choose(p, Budget(30.0, 1), should_stop=lambda: True)
    assert result.stopped_early
    assert result.placed
    assert faults(p, result) == []


def test_a_stop_during_a_solve_is_heard_long_before_the_budget_ends() -> None:
    p = tight()
    began = time.monotonic()
    result = choose(p, Budget(300.0, 1), should_stop=lambda: time.monotonic() - began > 0.5)
    assert result.stopped_early
    assert faults(p, result) == []


def test_an_interrupt_ends_the_search_with_a_packing_and_leaves_the_handler_in_place() -> None:
    p = tight()
    found = signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored when started in the background
    timer = threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    result = choose(p, Budget(300.0, 1))
    timer.cancel()
    assert result.stopped_early
    assert faults(p, result) == []
    left = signal.signal(signal.SIGINT, found)
    assert left is signal.default_int_handler


def test_an_interrupt_is_never_raised_in_the_middle_of_the_search() -> None:
    # raised while compiled code is handed its values, it ended the process by a segmentation fault
    found = signal.signal(signal.SIGINT, signal.default_int_handler)
    went_on = []

    def heard(_: Progress) -> None:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(0.01)
        went_on.append(True)

    result = choose(tight(), Budget(300.0, 1), heard)
    signal.signal(signal.SIGINT, found)
    assert went_on
    assert result.stopped_early


def test_a_second_interrupt_that_another_handler_raises_comes_once_the_search_has_ended() -> None:
    pressed = []

    def on_interrupt(number: int, _: object) -> None:
        pressed.append(number)
        if len(pressed) > 1:
            raise KeyboardInterrupt

    def heard(_: Progress) -> None:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(0.01)

    found = signal.signal(signal.SIGINT, on_interrupt)
    with pytest.raises(KeyboardInterrupt):
        choose(tight(), Budget(300.0, 1), heard)
    assert signal.signal(signal.SIGINT, found) is on_interrupt
    assert len(pressed) > 1


def test_an_interrupted_search_knows_the_lowest_bound_that_it_told() -> None:
    told: list[Progress] = []

    def heard(one: Progress) -> None:
        told.append(one)
        if any(before.goal == one.goal and before.bound > one.bound for before in told):
            raise KeyboardInterrupt

    result = choose(tight(), Budget(60.0, 1), heard)
    assert result.stopped_early
    for goal in result.goals:
        bounds = [one.bound for one in told if one.goal == goal.goal]
        assert goal.bound <= min(bounds, default=goal.bound)


def test_an_interrupt_while_the_last_touches_are_made_still_gives_the_packing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("ramet.optimise.choose.mass_centred", interrupted)
    p = mixed(3, layers=1)
    result = choose(p, Budget(1.0, 1))
    assert result.stopped_early
    assert result.placed
    assert faults(p, result) == []

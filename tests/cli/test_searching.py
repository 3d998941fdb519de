"""What a person sees of a search, and how Ctrl-C ends it."""

import os
import signal

import pytest

from ramet.cli.searching import LINE_EVERY_S, SearchLine, stopped_by_interrupt
from ramet.services.planning.listening import SearchProgress


def test_a_first_interrupt_asks_to_stop_and_a_second_breaks_off() -> None:
    before = signal.getsignal(signal.SIGINT)
    with stopped_by_interrupt() as should_stop:
        assert not should_stop()
        os.kill(os.getpid(), signal.SIGINT)
        assert should_stop()
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before


def test_stages_are_told_and_the_search_now_and_then(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    clock = [0.0]
    monkeypatch.setattr("ramet.cli.searching.time.monotonic", lambda: clock[0])
    line = SearchLine()
    line.stage("choosing")
    for seconds in (1.0, LINE_EVERY_S + 1):
        clock[0] = seconds
        line.search(SearchProgress("choosing", "wants sent (pieces)", 8, 10, 0.25, seconds))
    told = capsys.readouterr().err.splitlines()
    assert told[0] == "… choosing"
    assert len(told) == 2
    assert "wants sent (pieces): 8, bound 10, gap 25.0%" in told[1]

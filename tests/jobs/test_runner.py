"""A plan made in the background: done, stopped, failed, and taken up again after the server died."""

import json
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from small_shop import SHIPMENT, TODAY, small_ledger

from ramet.domain.jobs import Job, JobState
from ramet.domain.words import Effort
from ramet.formats.plan_text import read_plan
from ramet.jobs.plan_job import KIND, PlanJob, plan_job
from ramet.jobs.runner import Runner
from ramet.ledger import jobs, open_ledger

LONGEST_S = 120.0


@pytest.fixture
def place(tmp_path: Path) -> str:
    return small_ledger(tmp_path)


@pytest.fixture
def start() -> Iterator[Callable[[str], Runner]]:
    """Starts a runner on a ledger and closes it at the end of the test."""
    runners = []

    def started(place: str) -> Runner:
        runners.append(Runner(place))
        runners[-1].ring()
        return runners[-1]

    yield started
    for runner in runners:
        runner.close()


def ask(place: str, folder: Path, text: str = SHIPMENT, effort: Effort = Effort.QUICK) -> Job:
    folder.mkdir(exist_ok=True)
    (folder / "shipment.toml").write_text(text)
    job = PlanJob(folder / "shipment.toml", folder, TODAY, effort=effort)
    with open_ledger(place) as ledger:
        return jobs.ask(ledger, KIND, folder.name, job.what(), job_id="j1", now=datetime.now(UTC))


def wait(place: str, until: Callable[[Job], bool]) -> Job:
    """Look at the job until something is so."""
    end = time.monotonic() + LONGEST_S
    with open_ledger(place) as ledger:
        while time.monotonic() < end:
            found = jobs.find(ledger, "j1")
            assert found is not None
            if until(found):
                return found
            time.sleep(0.1)
    pytest.fail(f"not so after {LONGEST_S} s: {found}")


def test_a_plan_job_survives_being_written_down(tmp_path: Path) -> None:
    job = PlanJob(tmp_path / "a.toml", tmp_path, date(2027, 1, 4), 3, Effort.THOROUGH, tmp_path / "own.csv")
    assert plan_job(json.loads(json.dumps(job.what()))) == job


def test_a_job_taken_up_after_its_server_died_ends_with_a_whole_packet(
    place: str, tmp_path: Path, start: Callable[[str], Runner]
) -> None:
    ask(place, tmp_path / "library")
    with open_ledger(place) as ledger:
        jobs.claim(ledger, "elsewhere:1", datetime.now(UTC) - timedelta(hours=1))
    start(place)
    done = wait(place, lambda job: not job.is_open)
    assert (done.state, done.attempts) == (JobState.DONE, 2)
    plan = read_plan(tmp_path / "library" / "plan.json")
    assert not isinstance(plan, tuple)
    assert done.answer == plan.verdict
    assert (tmp_path / "library" / "packet.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "library" / "tasks.ics").exists()


def test_a_running_job_tells_its_stage_and_stops_when_asked(
    place: str, tmp_path: Path, start: Callable[[str], Runner]
) -> None:
    ask(place, tmp_path / "library", effort=Effort.THOROUGH)
    start(place)
    running = wait(place, lambda job: job.progress.stage != "")
    assert running.state is JobState.RUNNING
    with open_ledger(place) as ledger:
        jobs.ask_stop(ledger, "j1", datetime.now(UTC))
    ended = wait(place, lambda job: not job.is_open)
    assert ended.state is JobState.STOPPED
    plan = read_plan(tmp_path / "library" / "plan.json")
    assert not isinstance(plan, tuple)
    assert plan.verdict in ended.answer


def test_a_closing_server_gives_its_job_back_and_the_next_one_finishes_it(
    place: str, tmp_path: Path, start: Callable[[str], Runner]
) -> None:
    ask(place, tmp_path / "library")
    first = start(place)
    wait(place, lambda job: job.progress.stage != "")
    first.close()
    assert wait(place, lambda job: True).state is JobState.QUEUED
    start(place)
    assert wait(place, lambda job: not job.is_open).state is JobState.DONE


def test_a_shipment_with_faults_fails_with_each_of_them_named(
    place: str, tmp_path: Path, start: Callable[[str], Runner]
) -> None:
    ask(place, tmp_path / "library", SHIPMENT.replace("volume_l = 300", "volume_l = 0"))
    start(place)
    failed = wait(place, lambda job: not job.is_open)
    assert failed.state is JobState.FAILED
    assert "volume_l" in failed.answer
    assert not (tmp_path / "library" / "plan.json").exists()


def test_a_runner_ends_its_thread_with_the_queue_and_begins_again_when_rung(
    place: str, tmp_path: Path, start: Callable[[str], Runner]
) -> None:
    runner = start(place)
    ask(place, tmp_path / "library", SHIPMENT.replace("volume_l = 300", "volume_l = 0"))
    runner.ring()
    assert wait(place, lambda job: not job.is_open).state is JobState.FAILED


def test_a_ledger_that_is_not_there_ends_nothing(tmp_path: Path, start: Callable[[str], Runner]) -> None:
    start(str(tmp_path / "gone.db")).ring()
    assert not (tmp_path / "gone.db").exists()

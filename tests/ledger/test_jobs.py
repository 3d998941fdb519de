"""A job is asked for once, taken by one server, and goes back into the queue when that server dies."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

from entries import NOON, fixed_clock

from ramet.domain.jobs import Job, JobState, Progress
from ramet.ledger import Ledger, jobs, open_ledger

LATER = NOON + timedelta(minutes=5)


def new_ledger(place: str) -> Ledger:
    return open_ledger(place, create=True, clock=fixed_clock)


def ask(ledger: Ledger, subject: str = "library", job_id: str = "j1") -> Job:
    return jobs.ask(ledger, "plan", subject, {"seed": 1}, job_id=job_id, now=NOON)


def take(ledger: Ledger, owner: str = "here:1") -> Job:
    job = jobs.claim(ledger, owner, NOON)
    assert job is not None
    return job


def test_asking_twice_for_one_shipment_gives_the_job_that_is_open(place: str) -> None:
    with new_ledger(place) as ledger:
        assert ask(ledger).id == ask(ledger, job_id="j2").id == "j1"
        assert ask(ledger, "school", "j3").id == "j3"


def test_a_job_is_taken_by_one_server_only(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        assert take(ledger).state is JobState.RUNNING
        assert jobs.claim(ledger, "there:2", NOON) is None


def test_jobs_are_taken_in_the_order_in_which_they_were_asked_for(place: str) -> None:
    with new_ledger(place) as ledger:
        jobs.ask(ledger, "plan", "second", {}, job_id="a", now=LATER)
        jobs.ask(ledger, "plan", "first", {}, job_id="b", now=NOON)
        assert [take(ledger).subject, take(ledger).subject] == ["first", "second"]


def test_progress_is_there_for_whoever_looks_after_a_restart(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        assert jobs.tell(ledger, take(ledger), Progress("choosing", "fillers", 12.0, 15.0), LATER)
    with new_ledger(place) as ledger:
        found = jobs.find(ledger, "j1")
        assert found is not None
        assert found.progress == Progress("choosing", "fillers", 12.0, 15.0)
        assert found.beat_at == LATER


def test_a_job_of_a_dead_server_is_queued_again_and_one_of_a_living_server_is_not(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        ask(ledger, "school", "j2")
        dead, living = take(ledger, "dead:1"), take(ledger, "living:2")
        assert jobs.queue_again(ledger, lambda owner, _: owner == "living:2", LATER) == 1
        states = [jobs.find(ledger, job.id) for job in (dead, living)]
        assert [job.state for job in states if job] == [JobState.QUEUED, JobState.RUNNING]


def test_what_a_dead_server_still_says_does_not_count_once_another_has_the_job(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        first = take(ledger, "dead:1")
        jobs.queue_again(ledger, lambda owner, _: False, LATER)
        second = take(ledger, "living:2")
        assert not jobs.tell(ledger, first, Progress("old"), LATER)
        jobs.end(ledger, first, JobState.DONE, "old", LATER)
        found = jobs.find(ledger, second.id)
        assert found is not None
        assert (found.state, found.progress.stage, found.answer) == (JobState.RUNNING, "", "")


def test_a_job_that_brings_its_server_down_is_not_tried_for_ever(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        for attempt in range(jobs.MOST_ATTEMPTS):
            take(ledger, f"dead:{attempt}")
            jobs.queue_again(ledger, lambda owner, _: False, LATER)
        found = jobs.find(ledger, "j1")
        assert found is not None
        assert found.state is JobState.FAILED
        assert "3 times" in found.answer


def test_a_stop_reaches_a_waiting_job_at_once_and_a_running_one_with_its_next_word(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        jobs.ask_stop(ledger, "j1", LATER)
        waiting = jobs.find(ledger, "j1")
        assert waiting is not None
        assert (waiting.state, waiting.ended_at) == (JobState.STOPPED, LATER)
        ask(ledger, "school", "j2")
        running = take(ledger)
        jobs.ask_stop(ledger, "j2", LATER)
        assert not jobs.tell(ledger, running, Progress("choosing"), LATER)


def test_a_server_that_closes_gives_its_job_back_without_counting_the_attempt(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        jobs.give_back(ledger, take(ledger))
        assert take(ledger, "next:2").attempts == 1


def test_the_latest_job_of_a_shipment_is_the_one_asked_for_last(place: str) -> None:
    with new_ledger(place) as ledger:
        ask(ledger)
        jobs.end(ledger, take(ledger), JobState.DONE, "ready", LATER)
        jobs.ask(ledger, "plan", "library", {}, job_id="j0", now=LATER)
        found = jobs.latest(ledger, "plan", "library")
        assert found is not None
        assert found.id == "j0"
        assert jobs.latest(ledger, "plan", "school") is None


def test_two_servers_that_look_at_once_do_not_take_one_job_twice(place: str) -> None:
    with new_ledger(place) as mine, open_ledger(place) as theirs:
        for number in range(6):
            ask(mine, f"shipment {number}", f"j{number}")
        with ThreadPoolExecutor(2) as pool:
            taken = pool.map(
                lambda at: jobs.claim((mine, theirs)[at % 2], f"server:{at % 2}", NOON), range(6)
            )
        ids = [job.id for job in taken if job is not None]
        assert len(set(ids)) == len(ids)

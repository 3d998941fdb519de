"""The calendar shows what is to be done by day, what is late, and keeps ticks."""

from pathlib import Path

from small_shop import small_shop_plan
from visitors import Visitor

from ramet.services.sending.task_ticks import read_ticks
from ramet.web.config import WebConfig

PLAN = small_shop_plan()
FIRST = min(PLAN.tasks, key=lambda task: (task.starts, task.id))


def tick(who: Visitor, task: str, done: str = "yes") -> str:
    return who.post(
        "/shipments/small-reef/tasks", data={"task": task, "done": done, "back": "/calendar"}
    ).text


def test_every_task_is_there_with_its_latest_start(keeper: Visitor) -> None:
    page = keeper.get("/calendar").text
    assert page.count("Latest start") == len(PLAN.tasks)
    assert FIRST.title in page


def test_a_ticked_task_goes_and_comes_back_with_all(keeper: Visitor) -> None:
    assert tick(keeper, FIRST.id).count("Latest start") == len(PLAN.tasks) - 1
    assert keeper.get("/calendar?show=all").text.count("Latest start") == len(PLAN.tasks)
    assert tick(keeper, FIRST.id, "no").count("Latest start") == len(PLAN.tasks)


def test_a_tick_of_a_task_that_no_plan_has_is_told(keeper: Visitor) -> None:
    answer = keeper.post("/shipments/small-reef/tasks", data={"task": "gone", "done": "yes"})
    assert answer.status_code == 404
    assert "no such task any more" in answer.text


def test_what_should_have_begun_is_late(shop: Path) -> None:
    late = Visitor(WebConfig(str(shop), today=FIRST.latest_start.date().replace(day=15)))
    page = late.get("/calendar").text
    assert page.count("</svg>late") == sum(
        task.latest_start.date() < FIRST.latest_start.date().replace(day=15) for task in PLAN.tasks
    )


def test_a_ticked_task_is_kept_with_its_time_whatever_its_name(shop: Path, keeper: Visitor) -> None:
    tick(keeper, FIRST.id)
    assert set(read_ticks(shop.parent / "shop-files" / "shipments" / "small-reef")) == {FIRST.id}


def test_a_shipment_has_its_own_calendar_and_file(keeper: Visitor) -> None:
    page = keeper.get("/shipments/small-reef/calendar").text
    assert FIRST.title in page
    assert "/shipments/small-reef/papers/tasks.ics" in page
    assert keeper.get("/shipments/small-reef/papers/tasks.ics").text.startswith("BEGIN:VCALENDAR")


def test_without_shipments_it_says_where_tasks_come_from(owner: Visitor) -> None:
    assert "Tasks come with the plan" in owner.get("/calendar").text

"""Tasks of shipments are on the page of the day until they are ticked."""

from datetime import UTC, datetime
from pathlib import Path

from small_shop import small_shop_plan
from visitors import Visitor

from ramet.services.sending.task_ticks import tick
from ramet.services.shelf import place_of
from ramet.web.config import WebConfig

PLAN = small_shop_plan()
FIRST = min(PLAN.tasks, key=lambda task: (task.starts, task.id))


def test_tasks_of_shipments_come_and_go_with_their_ticks(shop: Path) -> None:
    day = FIRST.starts.date()
    who = Visitor(WebConfig(str(shop), today=day))
    assert FIRST.title in who.get("/").text
    place = place_of(shop.parent / f"{shop.stem}-files", "small-reef")
    assert place is not None
    tick(place.folder, PLAN, FIRST.id, datetime(2026, 9, 1, tzinfo=UTC))
    assert FIRST.title not in who.get("/").text

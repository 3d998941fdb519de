"""Every page of the desk in a real browser: three widths, both themes, no rule of accessibility broken.

With RAMET_PICTURES naming a folder, each page also leaves a picture there (`make pictures`).
"""

import io
import os
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, Page
from small_shop import TODAY, on_the_shelf, small_ledger
from visitors import Running

from ramet.domain.words import Effort
from ramet.formats.plan_text import read_plan
from ramet.reference.tables import load_reference
from ramet.services.beside import files_beside
from ramet.services.demo import DEMO_TODAY
from ramet.services.plan_shipment import PlanOrder, plan_shipment, write_packet
from ramet.services.printing import Printer
from ramet.services.sample import lay_out_sample
from ramet.web.config import WebConfig

ON_A_PHONE = ("today", "stock", "tank", "shipment", "journey", "packing", "opening")
PICTURES = os.environ.get("RAMET_PICTURES", "")
WIDTHS = (360, 768, 1440)
PAGES = {
    "today": "/",
    "first-steps": "/start",
    "import": "/import",
    "stock": "/stock",
    "piece": "/stock/piece/{piece}",
    "growth": "/stock/growth/{piece}",
    "move": "/stock/do/move?piece={piece}",
    "measure": "/stock/do/measure?piece={piece}",
    "cut": "/stock/do/cut?piece={piece}",
    "tanks": "/tanks",
    "tank": "/tanks/view?system={system}&tank={tank}&move={piece}",
    "shipments": "/shipments",
    "new-shipment": "/shipments/new",
    "shipment": "/shipments/{key}",
    "shipment-form": "/shipments/{key}/edit",
    "shipment-file": "/shipments/{key}/file",
    "boxes": "/shipments/{key}/boxes",
    "journey": "/shipments/{key}/journey",
    "receiving-tank": "/shipments/{key}/tank",
    "packing": "/shipments/{key}/packing",
    "packing-a-bag": "/shipments/{key}/packing/bags/{bag}",
    "swapping": "/shipments/{key}/packing/pieces/{going}",
    "opening": "/shipments/{key}/opening",
    "results-of-a-shipment": "/shipments/{key}/results",
    "calendar-of-a-shipment": "/shipments/{key}/calendar",
    "results": "/results",
    "calendar": "/calendar",
    "settings": "/settings",
    "trouble": "/shipments/none",
}
OF_THE_BENCH = {
    "calendar": "/shipments/{key}/calendar",
    "packing": "/shipments/{key}/packing",
    "opening": "/shipments/{key}/opening",
    "results": "/shipments/{key}/results",
}
"""Pages that have tests of their own; here only their pictures are taken."""
NAMES = {"piece": "D1", "system": "north", "tank": "N1", "key": "small-reef"}
DEMO_NAMES = {"piece": "RB-03", "system": "west", "tank": "W1", "key": "library"}
SMALL = """() => [...document.querySelectorAll("main :is(button, .button, input, select, summary), nav a")]
  .filter((one) => one.type !== "hidden" && one.offsetParent && !["checkbox", "radio"].includes(one.type))
  .filter((one) => one.getBoundingClientRect().height < 47.5)
  .map((one) => one.outerHTML.slice(0, 80))"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, dict[str, str]]]:
    """A server on a planned shipment, and the names in its addresses; for pictures on the demo's."""
    folder = tmp_path_factory.mktemp("site")
    if PICTURES:
        ledger = folder / "demo" / "ramet.db"
        _planned_demo(ledger)
        running, names = Running(WebConfig(str(ledger), today=DEMO_TODAY)), DEMO_NAMES
    else:
        ledger = Path(small_ledger(folder))
        on_the_shelf(str(ledger))
        running, names = Running(WebConfig(str(ledger), today=TODAY)), NAMES
    plan = read_plan(files_beside(str(ledger)) / "shipments" / names["key"] / "plan.json")
    assert not isinstance(plan, tuple)
    first = plan.chosen[0]
    yield running.address, names | {"bag": first.bag, "going": first.piece}
    running.stop()


def _planned_demo(ledger: Path) -> None:
    reference = load_reference()
    lay_out_sample(ledger, reference)
    files = files_beside(str(ledger))
    files.mkdir()
    (ledger.parent / "shipments").rename(files / "shipments")
    shelf = files / "shipments" / "library"
    order = PlanOrder(str(ledger), shelf / "shipment.toml", DEMO_TODAY, 1, Effort.QUICK)
    with Printer() as printer:
        write_packet(plan_shipment(order, reference, lambda _: None), shelf, printer)


class Watch:
    """What a page says that it must not: errors, and requests that leave the machine."""

    def __init__(self, page: Page, address: str) -> None:
        self.told: list[str] = []
        page.on("console", lambda message: self._heard(message.type, message.text))
        page.on("pageerror", lambda error: self.told.append(f"error: {error}"))
        host = urlsplit(address).netloc
        page.on("request", lambda request: self._asked(request.url, host))

    def _heard(self, kind: str, text: str) -> None:
        if kind == "error" and "404" not in text:
            self.told.append(text)

    def _asked(self, url: str, host: str) -> None:
        if urlsplit(url).scheme in ("http", "https") and urlsplit(url).netloc != host:
            self.told.append(f"left the machine: {url}")


@pytest.mark.parametrize("name", PAGES | OF_THE_BENCH if PICTURES else PAGES)
def test_a_page_fits_every_width_keeps_the_policy_and_breaks_no_accessibility_rule(
    browser: Browser, site: tuple[str, dict[str, str]], name: str
) -> None:
    address, names = site
    size = {"width": WIDTHS[0], "height": 800}
    with browser.new_context(base_url=address, viewport=size, reduced_motion="reduce") as context:
        page = context.new_page()
        watch = Watch(page, address)
        page.goto((PAGES | OF_THE_BENCH)[name].format(**names))
        page.wait_for_load_state("networkidle")
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            if width == WIDTHS[0]:
                assert page.evaluate(SMALL) == []
                _leave_picture(page, f"{name}-phone")
        for theme in ("day", "night"):
            page.evaluate("theme => document.documentElement.dataset.theme = theme", theme)
            found = Axe().run(page)
            assert found.violations_count == 0, found.generate_report()
            if theme == "day":
                _leave_picture(page, name)
        assert watch.told == []


def _leave_picture(page: Page, name: str) -> None:
    if PICTURES and not (name.endswith("-phone") and name.removesuffix("-phone") not in ON_A_PHONE):
        page.wait_for_timeout(600)
        taken = Image.open(io.BytesIO(page.screenshot(animations="disabled"))).convert("RGB")
        taken.quantize(96).save(Path(PICTURES) / f"page-{name}.png", optimize=True)

"""In a real browser: pack with a swap, open without a network, results twice, keyboard, script off, axe."""

import base64
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect
from small_shop import TODAY, small_shop_plan
from visitors import Running

from ramet.services.pack_off import packing_of
from ramet.services.sending.outcomes import read_outcomes
from ramet.web.config import WebConfig

PLAN = small_shop_plan()
HOME = "/shipments/small-reef"
ORDER = [bag.id for bag in sorted(PLAN.bags, key=lambda bag: bag.sealing_order)]
PAGES = ("/packing", f"/packing/bags/{ORDER[1]}", "/packing/pieces/F1", "/opening", "/results", "/calendar")
WIDTHS = (360, 768, 1440)
PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)


@pytest.fixture
def shop_address(shop: Path) -> Iterator[str]:
    """The address of a running server on the small shop."""
    running = Running(WebConfig(str(shop), today=TODAY))
    yield running.address
    running.stop()


@pytest.fixture
def phone(browser: Browser, shop_address: str) -> Iterator[BrowserContext]:
    """A phone of 360 px that fails the test on any error of a script or on a request to elsewhere."""
    context = browser.new_context(
        base_url=shop_address,
        viewport={"width": 360, "height": 720},
        has_touch=True,
        timezone_id="UTC",
        locale="en-US",
    )
    wrong: list[str] = []
    context.on("weberror", lambda error: wrong.append(str(error.error)))
    context.on("request", lambda request: wrong.append(request.url) if _leaves(request.url) else None)
    yield context
    context.close()
    assert wrong == []


def _leaves(address: str) -> bool:
    return not address.startswith(("http://127.0.0.1:", "file:", "data:", "blob:"))


def taken_page(context: BrowserContext, tmp_path: Path, *, with_address: bool = False) -> Path:
    """Fetch the receiver's page as a file, the way a sender does."""
    address = f"{HOME}/opening.html" + ("?address=yes" if with_address else "")
    path = tmp_path / "opening.html"
    path.write_bytes(context.request.get(address).body())
    return path


def note_a_bag(page: Page) -> None:
    bag = page.locator("article.bag").first
    bag.get_by_label(re.compile("Water in bag")).fill("72.5")
    page.get_by_label("Thermometer in").select_option("F")
    bag.get_by_label(re.compile("Water in bag")).fill("72.5")
    bag.get_by_role("button", name="Cut open now").click()
    bag.get_by_role("radio", name="Weak").check()
    bag.get_by_label(re.compile("Note on bag")).fill("slime on the base")
    bag.get_by_label(re.compile("Photo of bag")).set_input_files(
        {"name": "bag.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    expect(bag.get_by_role("img", name=re.compile("photo of bag"))).to_be_visible()


def test_bags_are_sealed_with_a_photo_and_a_piece_is_swapped_between(
    phone: BrowserContext, shop: Path
) -> None:
    page = phone.new_page()
    page.goto(f"{HOME}/packing")
    page.get_by_role("link", name=f"Begin with bag {ORDER[0]}").tap()
    page.get_by_label("Photo at sealing").set_input_files(
        {"name": "bag.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    page.get_by_role("button", name=f"Bag {ORDER[0]} is sealed").tap()
    expect(page.get_by_role("heading", name=f"Bag {ORDER[1]}")).to_be_visible()
    sealed = packing_of(str(shop), PLAN).sealed[ORDER[0]]
    assert sealed.photo
    going = next(one for one in PLAN.chosen if one.bag == ORDER[3])
    page.goto(f"{HOME}/packing/pieces/{going.piece}")
    page.get_by_role("button", name=f"Plan again without {going.piece}").tap()
    expect(page.get_by_text("Planned again in")).to_be_visible(timeout=60_000)
    expect(page.get_by_text(f"1 of {len(PLAN.bags)} bags sealed")).to_be_visible()
    assert page.locator(".bags").get_by_text(going.piece, exact=True).count() == 0


def test_a_sealing_without_a_connection_is_sent_when_it_is_back(phone: BrowserContext, shop: Path) -> None:
    page = phone.new_page()
    page.goto(f"{HOME}/packing/bags/{ORDER[0]}")
    phone.set_offline(True)
    page.get_by_role("button", name=f"Bag {ORDER[0]} is sealed").tap()
    expect(page.get_by_text("Not saved: the server cannot be reached")).to_be_visible()
    assert not packing_of(str(shop), PLAN).sealed
    phone.set_offline(False)
    expect(page.get_by_role("heading", name=f"Bag {ORDER[1]}")).to_be_visible(timeout=20_000)
    assert list(packing_of(str(shop), PLAN).sealed) == [ORDER[0]]


def test_the_receivers_file_works_without_a_network_and_after_a_reload(
    phone: BrowserContext, tmp_path: Path, shop: Path
) -> None:
    path = taken_page(phone, tmp_path)
    phone.set_offline(True)
    page = phone.new_page()
    page.goto(path.as_uri())
    note_a_bag(page)
    page.reload()
    bag = page.locator("article.bag").first
    assert bag.get_by_label(re.compile("Water in bag")).input_value() == "72.5"
    assert bag.get_by_role("radio", name="Weak").is_checked()
    expect(bag.get_by_role("img", name=re.compile("photo of bag"))).to_be_visible()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the result file").click()
    saved = download.value.path()
    result = json.loads(saved.read_text("utf-8"))
    assert result["bags"][0]["water_c"] == 22.5  # 72.5 °F
    assert result["seen"][0]["condition"] == "weak"
    phone.set_offline(False)
    for words in ("Entered: 1 observation and 1 opened bag", "Nothing new"):
        desk = phone.new_page()
        desk.goto("/results")
        desk.get_by_label("Result file of a receiver").set_input_files(saved)
        desk.get_by_role("button", name="Take it in").click()
        expect(desk.get_by_text(words)).to_be_visible()
    (outcome,) = read_outcomes(str(shop))
    assert outcome.seen[0].condition.value == "weak"


def test_a_file_with_an_address_sends_by_itself_when_the_connection_is_back(
    phone: BrowserContext, tmp_path: Path, shop: Path
) -> None:
    path = taken_page(phone, tmp_path, with_address=True)
    page = phone.new_page()
    phone.set_offline(True)
    page.goto(path.as_uri())
    page.locator("article.bag").first.get_by_role("radio", name="Well").check()
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_text("No connection to the sender now")).to_be_visible()
    phone.set_offline(False)
    expect(
        page.get_by_text("All of it has been sent", exact=False).or_(page.get_by_text("Received, thank you"))
    ).to_be_visible(timeout=30_000)
    assert len(read_outcomes(str(shop))) == 1


def test_a_float_timer_goes_on_after_a_reload(phone: BrowserContext, tmp_path: Path) -> None:
    page = phone.new_page()
    page.goto(taken_page(phone, tmp_path).as_uri())
    bag = page.locator("article.bag").first
    bag.get_by_role("button", name=re.compile("min of floating")).click()
    expect(bag.get_by_text("min left")).to_be_visible()
    page.reload()
    expect(page.locator("article.bag").first.get_by_text("min left")).to_be_visible()


def test_the_clock_of_each_bag_follows_the_real_start(phone: BrowserContext, tmp_path: Path) -> None:
    page = phone.new_page()
    page.clock.set_fixed_time("2026-09-23T18:00:00Z")
    page.goto(taken_page(phone, tmp_path).as_uri())
    page.get_by_role("button", name="We start now").click()
    page.reload()
    shown = page.locator("[data-times]").all_text_contents()
    times = json.loads(page.locator("[data-times]").first.get_attribute("data-times") or "[]")
    minutes = times[1][1] - times[0][1]
    assert shown[0].startswith("float 06:00 PM")
    assert f"open 06:{minutes:02d} PM" in shown[0]


def test_a_temperature_that_cannot_be_is_told_beside_its_field(phone: BrowserContext, tmp_path: Path) -> None:
    page = phone.new_page()
    page.goto(taken_page(phone, tmp_path).as_uri())
    field = page.get_by_label(re.compile("Water in bag")).first
    field.fill("75")
    expect(page.get_by_text("Is the unit above right?")).to_be_visible()
    assert field.get_attribute("aria-invalid") == "true"


def test_a_bag_is_sealed_and_a_task_ticked_by_keyboard_alone(phone: BrowserContext, shop: Path) -> None:
    page = phone.new_page()
    page.goto(f"{HOME}/packing/bags/{ORDER[0]}")
    press_until(page, f"Bag {ORDER[0]} is sealed")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name=f"Bag {ORDER[1]}")).to_be_visible()
    page.goto(f"{HOME}/calendar")
    before = page.get_by_role("button", name=re.compile("^Done: ")).count()
    press_until(page, "Done: ")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name=re.compile("^Done: "))).to_have_count(before - 1)


def press_until(page: Page, name: str) -> None:
    """Press Tab until the focus is on something of that name."""
    for _ in range(80):
        page.keyboard.press("Tab")
        focused = page.evaluate(
            "(document.activeElement.ariaLabel ?? document.activeElement.textContent).trim()"
        )
        if focused.strip().startswith(name):
            return
    pytest.fail(f"no way by keyboard to “{name}”")


def test_without_script_every_page_reads_and_its_forms_work(
    browser: Browser, shop_address: str, shop: Path
) -> None:
    context = browser.new_context(base_url=shop_address, java_script_enabled=False)
    page = context.new_page()
    for path in PAGES:
        page.goto(HOME + path)
        expect(page.locator("main")).to_contain_text("Small reef")
    page.goto(f"{HOME}/packing/bags/{ORDER[0]}")
    page.get_by_role("button", name=f"Bag {ORDER[0]} is sealed").click()
    expect(page.get_by_role("heading", name=f"Bag {ORDER[1]}")).to_be_visible()
    page.goto(f"{HOME}/packing")
    page.get_by_label("Bag on a label").fill(ORDER[2])
    page.get_by_role("button", name="Find the bag").click()
    expect(page.get_by_role("heading", name=f"Bag {ORDER[2]}")).to_be_visible()
    context.close()
    assert list(packing_of(str(shop), PLAN).sealed) == [ORDER[0]]


def test_the_receivers_file_reads_without_script(
    browser: Browser, phone: BrowserContext, tmp_path: Path
) -> None:
    path = taken_page(phone, tmp_path)
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(path.as_uri())
    expect(page.get_by_text("note what you see on paper")).to_be_visible()
    expect(page.get_by_role("button")).to_have_count(0)
    expect(page.locator("article.bag")).to_have_count(len(PLAN.bags))
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_receivers_file_breaks_no_accessibility_rule_and_fits_every_width(
    browser: Browser, shop_address: str, scheme: str, tmp_path: Path
) -> None:
    context = browser.new_context(base_url=shop_address, color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(taken_page(context, tmp_path).as_uri())
    for summary in page.locator("summary").all():
        summary.click()
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 360, "height": 800})
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    context.close()

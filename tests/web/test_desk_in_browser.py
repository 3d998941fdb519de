"""The desk in a real browser: by keyboard, without script, with two browsers, and when the line breaks."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from small_shop import TODAY, on_the_shelf
from small_texts import stock_text
from visitors import Running

from ramet.domain.piece import name_key
from ramet.ledger import projections
from ramet.ledger.store import open_ledger
from ramet.web.config import WebConfig

HOME = "/shipments/small-reef"


@pytest.fixture
def shop_address(small_ledger_once: Path, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """A running server on a copy of the small shop, and its ledger."""
    copy = tmp_path / "shop.db"
    copy.write_bytes(small_ledger_once.read_bytes())
    on_the_shelf(str(copy))
    running = Running(WebConfig(str(copy), today=TODAY))
    yield running.address, copy
    running.stop()


@pytest.fixture
def desk(browser: Browser, shop_address: tuple[str, Path]) -> Iterator[BrowserContext]:
    """A browser at the desk."""
    with browser.new_context(base_url=shop_address[0], viewport={"width": 1440, "height": 900}) as context:
        context.set_default_timeout(8_000)
        yield context


def piece(ledger: Path, name: str) -> projections.PieceState:
    with open_ledger(str(ledger)) as book, book.reading() as connection:
        return projections.states(connection, [name_key(name)])[name_key(name)]


def test_a_newcomer_brings_in_a_table_and_mends_it_there(browser: Browser, tmp_path: Path) -> None:
    running = Running(WebConfig(str(tmp_path / "new.db"), today=TODAY))
    table = tmp_path / "mine.csv"
    table.write_text(
        stock_text()
        .replace("piece,", "Coral ID,", 1)
        .replace("massive,north,N1,rack 2,45", "massive,north,N1,rack 2,4x5")
    )
    with browser.new_context(base_url=running.address) as context:
        page = context.new_page()
        page.goto("/")
        page.get_by_role("link", name="Bring in a table").click()
        page.get_by_label("Files").set_input_files(table)
        page.get_by_role("button", name="Bring in").click()
        page.get_by_label("“Coral ID” is").select_option("piece")
        page.get_by_role("button", name="Try again").click()
        page.get_by_label("length_mm").fill("45")
        page.get_by_role("button", name="Try again").click()
        expect(page.get_by_text("6 pieces added")).to_be_visible()
        page.get_by_role("link", name="New shipment").click()
        expect(page.get_by_role("heading", name="New shipment")).to_be_visible()
    running.stop()


def test_a_search_updates_the_list_and_the_address_brings_it_back(desk: BrowserContext) -> None:
    page = desk.new_page()
    page.goto("/stock")
    page.get_by_label("Look for").press_sequentially("dock")
    expect(page.get_by_role("status").filter(has_text="2 pieces found")).to_be_visible()
    page.wait_for_url("**q=dock**")
    page.reload()
    expect(page.get_by_text("2 pieces found")).to_be_visible()
    page.goto("/stock")
    page.go_back()
    expect(page.get_by_label("Look for")).to_have_value("dock")


def test_stock_is_searched_and_a_piece_measured_by_keyboard_alone(
    desk: BrowserContext, shop_address: tuple[str, Path]
) -> None:
    page = desk.new_page()
    page.goto("/stock")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the page")).to_be_focused()
    page.keyboard.press("Enter")
    _tab_to(page, "#q")
    page.keyboard.type("D2")
    page.keyboard.press("Enter")
    expect(page.get_by_text("1 piece found")).to_be_visible()
    _tab_to(page, 'a[href="/stock/piece/D2"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/stock/piece/D2")
    _tab_to(page, 'a[href="/stock/do/measure?piece=D2"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/do/measure**")
    _tab_to(page, '[name="length_mm@D2"]')
    page.keyboard.type("55")
    page.keyboard.press("Enter")
    page.wait_for_url("**/stock/piece/D2")
    assert piece(shop_address[1], "D2").piece.length_mm == 55


def _tab_to(page: Page, selector: str) -> None:
    for _ in range(120):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement?.matches(selector)", selector):
            return
    raise AssertionError(f"Tab never came to {selector}")


def test_two_browsers_that_measure_one_piece_are_shown_both_values(
    browser: Browser, shop_address: tuple[str, Path]
) -> None:
    address, ledger = shop_address
    with browser.new_context(base_url=address) as one, browser.new_context(base_url=address) as other:
        pages = [context.new_page() for context in (one, other)]
        for page in pages:
            page.goto("/stock/do/measure?piece=D2")
        for page, size in zip(pages, ("56", "58"), strict=True):
            page.get_by_label("Length").fill(size)
            page.get_by_role("button", name="Measure").click()
        expect(pages[1].get_by_text("D2 now has 56; you typed 58").first).to_be_visible()
        assert piece(ledger, "D2").piece.length_mm == 56
        pages[1].get_by_role("button", name="Measure").click()
        pages[1].wait_for_url("**/stock/piece/D2")
        assert piece(ledger, "D2").piece.length_mm == 58


def test_a_form_sent_without_a_connection_keeps_what_was_typed_even_through_a_reload(
    desk: BrowserContext, shop_address: tuple[str, Path]
) -> None:
    page = desk.new_page()
    page.goto("/stock/do/lost?piece=D2")
    desk.set_offline(True)
    page.get_by_label("Why").fill("fell behind the rack")
    page.get_by_role("button", name="Lost").click()
    expect(page.get_by_text("Not saved: the server cannot be reached")).to_be_visible()
    expect(page.get_by_label("Why")).to_have_value("fell behind the rack")
    desk.set_offline(False)
    page.reload()
    page.get_by_role("button", name="Put back what I typed").click()
    expect(page.get_by_label("Why")).to_have_value("fell behind the rack")
    page.get_by_role("button", name="Lost").click()
    page.wait_for_url("**/stock/piece/D2")
    assert piece(shop_address[1], "D2").standing.value == "lost"


def test_a_piece_is_dragged_to_another_spot(desk: BrowserContext, shop_address: tuple[str, Path]) -> None:
    page = desk.new_page()
    page.goto("/tanks/view?system=north&tank=N1")
    start = page.locator('[data-piece="F1"] circle').bounding_box()
    end = page.locator('[data-spot="rack 4"]').bounding_box()
    assert start
    assert end
    page.mouse.move(start["x"] + start["width"] / 2, start["y"] + start["height"] / 2)
    page.mouse.down()
    page.mouse.move(end["x"] + 20, end["y"] + 20, steps=8)
    page.mouse.up()
    expect(page.get_by_text("Moved F1.")).to_be_visible()
    assert piece(shop_address[1], "F1").piece.spot == "rack 4"


def test_the_chart_is_drawn_and_reads_at_any_hour_and_a_slider_moves_the_margin(desk: BrowserContext) -> None:
    page = desk.new_page()
    page.goto(f"{HOME}/journey")
    expect(page.locator(".plot svg")).to_be_visible()
    first = page.locator(".reads dd").first.inner_text()
    page.get_by_label("Read it at any hour").fill("60")
    expect(page.locator(".reads dd").first).not_to_have_text(first)
    page.get_by_text("What if: other water").click()
    page.get_by_label("Held up on the way", exact=True).fill("10")
    page.get_by_label("Held up on the way", exact=True).press("Tab")
    expect(page.get_by_role("heading", name="done differently")).to_be_visible()
    page.wait_for_url("**waits=10**")
    expect(page.locator(".plot svg")).to_be_visible()


def test_the_box_turns_or_gives_way_to_its_drawing(desk: BrowserContext) -> None:
    page = desk.new_page()
    page.goto(f"{HOME}/boxes")
    page.wait_for_load_state("networkidle")
    expect(page.get_by_role("heading", name="Lifted apart")).to_be_visible()
    if page.evaluate("!!document.createElement('canvas').getContext('webgl2')"):
        expect(page.locator(".turning canvas")).to_be_visible()
        page.get_by_role("button", name="Turn left").click()


def test_without_script_stock_is_searched_a_piece_moved_and_a_chart_seen(
    browser: Browser, shop_address: tuple[str, Path]
) -> None:
    address, ledger = shop_address
    with browser.new_context(base_url=address, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto("/stock")
        page.get_by_label("Look for").fill("field")
        page.get_by_role("button", name="Look", exact=True).click()
        expect(page.get_by_text("2 pieces found")).to_be_visible()
        page.goto("/tanks/view?system=north&tank=N1")
        page.locator('[data-piece="F2"]').click()
        expect(page.get_by_text("F2 waits for its new spot")).to_be_visible()
        page.locator('a[data-spot="rack 3"] text').click()
        page.get_by_role("button", name="Move").click()
        assert piece(ledger, "F2").piece.spot == "rack 3"
        page.goto(f"{HOME}/journey?waits=10")
        expect(page.get_by_role("heading", name="done differently")).to_be_visible()
        picture = page.locator(".chart img")
        assert context.request.get(f"{address}{picture.get_attribute('src')}").ok


def test_a_shipment_is_changed_in_its_form_and_the_theme_stays(desk: BrowserContext) -> None:
    page = desk.new_page()
    page.goto(f"{HOME}/edit")
    page.get_by_role("button", name="Night").click()
    page.wait_for_load_state()
    expect(page.locator("html")).to_have_attribute("data-theme", "night")
    page.get_by_label("How many").first.fill("2")
    page.get_by_role("button", name="Keep the shipment").click()
    expect(page.get_by_text("The shipment was changed since this plan was made")).to_be_visible()
    expect(page.locator("html")).to_have_attribute("data-theme", "night")


def test_printed_a_page_leaves_out_what_only_a_screen_needs(desk: BrowserContext) -> None:
    page = desk.new_page()
    page.goto(HOME)
    page.emulate_media(media="print")
    expect(page.get_by_role("heading", name="What goes")).to_be_visible()
    expect(page.locator(".spine")).to_be_hidden()
    expect(page.get_by_role("button", name="Plan again")).to_be_hidden()
    page.goto("/stock")
    expect(page.get_by_role("link", name="D1")).to_be_visible()
    expect(page.get_by_label("Choose D1")).to_be_hidden()

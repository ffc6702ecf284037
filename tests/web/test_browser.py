"""A journey in a real browser: open the demo, choose a wire, see it in the diagram, on the board and in the car, open the book."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from browser import watched

SLOW_MS = 120_000


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.set_default_timeout(SLOW_MS)
    expect.set_options(timeout=SLOW_MS)
    yield context.new_page()
    context.close()


def test_from_first_open_to_the_book(page: Page, address: str) -> None:
    complaints = watched(page)
    page.goto(address)
    page.get_by_role("button", name="Open the demo car").click()

    # The car is drawn, and the list beside it has the same things.
    page.wait_for_selector("#solid[data-ready]")
    expect(page.get_by_role("heading", level=1)).to_contain_text("The car")
    page.get_by_role("button", name="B1 battery box").click()
    expect(page.locator(".selection")).to_contain_text("Selected: B1")
    assert page.evaluate("document.querySelector('#solid canvas').toDataURL().length") > 5_000

    # A wire is chosen in the list of wires; the address carries it.
    page.get_by_role("navigation", name="Contents").get_by_role("link", name="Wires").click()
    page.get_by_label("Find").fill("W103")
    page.get_by_role("gridcell", name="W103", exact=True).click()
    expect(page.locator(".selection")).to_contain_text("Selected: W103")
    expect(page.locator('[data-row="wire:W103"]')).to_contain_class("chosen")
    assert page.url.endswith("sel=wire:W103")

    # The diagram marks it with a ring and leaves its colours alone.
    page.locator(".selection").get_by_role("link", name="diagram PED").click()
    page.wait_for_selector('#drawing g[data-ref="wire:W103"] .mark', state="attached")
    own = page.locator('#drawing g[data-ref="wire:W103"] > path:not(.mark)').evaluate_all(
        "all => all.map(one => one.getAttribute('stroke'))"
    )
    assert own == ["#1C2126", "#7A4A21", "#FFFFFF"]  # edge, base BN, tracer WH
    page.locator('#on-it button[data-key="wire:W103"][aria-pressed="true"]').wait_for(state="attached")

    # The car shows the runs that it lies in.
    page.locator(".selection").get_by_role("link", name="the car").click()
    page.wait_for_selector("#solid[data-ready]")
    expect(page.locator('#solids button[data-key="run:U01"][data-also]')).to_have_count(1)
    expect(page.locator('#solids button[data-key="run:U17"][data-also]')).to_have_count(0)

    # Back is back: the address is the one truth of what is chosen.
    page.go_back()
    expect(page.locator(".selection")).to_contain_text("Selected: W103")

    # The book is made, with its progress, and opens.
    page.get_by_role("navigation", name="Contents").get_by_role("link", name="Book").click()
    page.get_by_role("button", name="Make the book").click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    link = page.get_by_role("link", name="Open the book")
    link.wait_for()
    book = page.request.get(f"{address}{link.get_attribute('href')}")
    assert (book.status, book.headers["content-type"], book.body()[:5]) == (200, "application/pdf", b"%PDF-")
    expect(page.get_by_role("link", name="Front loom, board at full size, one sheet")).to_be_visible()
    assert complaints == []


@pytest.mark.parametrize("width", [390, 720, 1024, 1440])
def test_no_page_scrolls_sideways(page: Page, address: str, width: int) -> None:
    """720 px is a page of 1440 px at 200 % zoom."""
    page.set_viewport_size({"width": width, "height": 800})
    for slug in (
        "car",
        "weights",
        "pack",
        "high-voltage",
        "wires",
        "tests",
        "fuses",
        "12-volts",
        "parts",
        "boards",
        "diagram",
        "arrange",
        "tables",
        "findings",
        "revisions",
        "book",
    ):
        page.goto(f"{address}/c/TERN/{slug}?sel=device:VCU", wait_until="domcontentloaded")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, slug


def test_the_drawing_is_moved_and_chosen_from_by_keys_and_by_hand(page: Page, address: str) -> None:
    complaints = watched(page)
    page.goto(f"{address}/c/TERN/diagram/TERN-WD-PED")
    page.wait_for_selector("#drawing svg")
    sheet = page.locator("#drawing svg").first
    before = sheet.get_attribute("viewBox")
    page.locator("#drawing").focus()
    page.keyboard.press("+")
    closer = sheet.get_attribute("viewBox")
    assert closer is not None
    assert before is not None
    assert float(closer.split()[2]) < float(before.split()[2])
    page.keyboard.press("ArrowRight")
    assert sheet.get_attribute("viewBox") != closer
    page.keyboard.press("0")
    assert sheet.get_attribute("viewBox") == before
    page.locator('#drawing g[data-ref="wire:W101"] text').first.click()
    expect(page.locator(".selection")).to_contain_text("Selected: W101")
    assert complaints == []


def test_the_car_is_turned_by_keys(page: Page, address: str) -> None:
    page.goto(f"{address}/c/TERN/car")
    page.wait_for_selector("#solid[data-ready]")
    for key, name in (("2", "2 Plan"), ("3", "3 Side"), ("4", "4 Rear"), ("1", "1 Free")):
        page.keyboard.press(key)
        expect(page.get_by_role("button", name=name)).to_have_attribute("aria-pressed", "true")


AXE = Path(__file__).parents[2] / "node_modules" / "axe-core" / "axe.min.js"
LEAVES = [
    "car?sel=wire:W103", "car/drawing", "car/refs", "weights", "pack?sel=device:B1", "high-voltage", "wires?sel=wire:W103", "wires/connectors", "tests", "fuses",
    "12-volts", "parts", "boards?sel=device:VCU", "diagram", "arrange", "tables", "findings", "revisions", "revisions/compare", "book",
]  # fmt: skip


@pytest.mark.parametrize("theme", ["paper", "bench"])
def test_pages_have_nothing_against_the_rules_of_access(browser: Browser, address: str, theme: str) -> None:
    """Names, roles, order, contrast and the like, by the rules of axe-core."""
    if not AXE.exists():
        pytest.skip("axe-core is not here: npm ci")
    context = browser.new_context(viewport={"width": 1440, "height": 900}, bypass_csp=True)
    context.set_default_timeout(SLOW_MS)
    context.add_cookies([{"name": "theme", "value": theme, "url": address}])
    page = context.new_page()
    for leaf in LEAVES:
        page.goto(f"{address}/c/TERN/{leaf}")
        if 'id="drawing"' in page.content():
            page.wait_for_selector("#drawing svg")
        page.add_script_tag(path=str(AXE))
        found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
        assert [(item["id"], item["nodes"][0]["html"][:200]) for item in found] == [], leaf
    context.close()

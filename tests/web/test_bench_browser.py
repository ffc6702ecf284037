"""Journeys at the bench in a real browser: the connection is cut in the middle of laying, the page is loaded again, nothing is lost."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from browser import browsing, served, watched
from halfshaft.records import laying
from halfshaft.records.database import open_database
from halfshaft.records.values import Step

SLOW_MS = 120_000
TABLET = {"width": 1024, "height": 768}
AXE = Path(__file__).parents[2] / "node_modules" / "axe-core" / "axe.min.js"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("served")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with browsing():
        pass
    with served(folder) as found:
        yield found


@pytest.fixture(scope="module")
def browser(address: str) -> Iterator[Browser]:
    with browsing() as found:
        page = found.new_page()
        page.request.post(f"{address}/api/conversions/demo", timeout=SLOW_MS)
        page.request.get(f"{address}/api/conversions/TERN/state?wait=true", timeout=SLOW_MS)
        page.close()
        yield found


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context(viewport=TABLET, has_touch=True)
    made.set_default_timeout(SLOW_MS)
    expect.set_options(timeout=SLOW_MS)
    yield made
    made.close()


def kept(folder: Path, loom: str) -> tuple[Step, ...]:
    """What the records have of a loom."""
    db = open_database(f"sqlite:///{folder / 'app.db'}")
    try:
        return laying.log(db, "TERN", loom=loom)
    finally:
        db.close()


def wire(page: Page) -> str:
    return page.locator(".wire-line b").inner_text()


def test_laying_goes_on_through_a_cut_of_the_connection(context: BrowserContext, address: str, folder: Path) -> None:
    page = context.new_page()
    page.goto(f"{address}/c/TERN/bench")
    page.get_by_label("Your name, to stand beside").fill("A. B.")
    page.get_by_role("link", name="Lay FR").click()
    page.wait_for_selector(".wire-line")
    order = [item["item"] for item in page.request.get(f"{address}/api/conversions/TERN/bench/FR/lay").json()["items"]]
    complaints = watched(page)

    # Two with a connection: by hand and by key.
    assert wire(page) == order[0]
    expect(page.get_by_role("img", name=re.compile("^XF.B seen from the wire side, cavity 9 lit"))).to_be_visible()
    expect(page.locator(f'.way g[data-ref="wire:{order[0]}"]')).to_be_visible()
    page.get_by_role("button", name="Done").tap()
    expect(page.locator(".wire-line b")).to_have_text(order[1])
    page.keyboard.press("Space")
    expect(page.locator("[data-kept]")).to_contain_text("All is in the shop's record")
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    page.wait_for_function(
        "caches.open('bench-1').then(store => store.keys()).then(all => ['/lay', 'bench.js'].every(end => all.some(one => new URL(one.url).pathname.endsWith(end))))"
    )
    assert complaints == []

    # The connection is cut; work goes on, and says where it is kept.
    context.set_offline(True)
    page.get_by_role("button", name="Done").tap()
    page.get_by_role("button", name="Problem").tap()
    page.get_by_label("What is wrong?").fill("insulation nicked at peg 20")
    page.keyboard.press("Enter")
    page.keyboard.press("Space")
    expect(page.locator(".wire-line b")).to_have_text(order[5])
    expect(page.locator("[data-kept]")).to_contain_text("Kept here: 3, since")
    assert len(kept(folder, "FR")) == 2

    # Loaded again without a connection: as it was.
    page.reload()
    expect(page.locator(".wire-line b")).to_have_text(order[5])
    expect(page.locator("[data-count]")).to_contain_text("4 done")
    expect(page.locator("[data-kept]")).to_contain_text("Kept here: 3, since")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    expect(page.locator(".is-said")).to_contain_text("Problem: insulation nicked at peg 20")
    page.keyboard.press("Space")
    expect(page.locator(".wire-line b")).to_have_text(order[5])
    page.keyboard.press("Space")

    # The connection is back: everything arrives, each step once, in its order.
    context.set_offline(False)
    expect(page.locator("[data-kept]")).to_contain_text("All is in the shop's record")
    steps = kept(folder, "FR")
    assert [(step.item, step.state) for step in steps] == [
        (order[0], "done"), (order[1], "done"), (order[2], "done"), (order[3], "problem"), (order[4], "done"), (order[5], "done"),
    ]  # fmt: skip
    assert {step.by for step in steps} == {"A. B."}
    assert steps[3].note == "insulation nicked at peg 20"
    page.reload()
    expect(page.locator(".wire-line b")).to_have_text(order[6])
    expect(page.locator("[data-count]")).to_contain_text("5 done")


def test_an_answer_that_is_lost_on_its_way_does_not_count_a_step_twice(browser: Browser, address: str, folder: Path) -> None:
    context = browser.new_context(viewport=TABLET, service_workers="block")
    page = context.new_page()
    sent: Counter[str] = Counter()

    def lose_the_first_answer(route: Route) -> None:
        step = route.request.post_data_json["id"]
        sent[step] += 1
        if sent[step] == 1:
            route.fetch()
            route.abort()
        else:
            route.continue_()

    page.route("**/steps?**", lose_the_first_answer)
    page.goto(f"{address}/c/TERN/bench/SR/lay")
    page.wait_for_selector(".wire-line")
    for _ in range(2):
        page.keyboard.press("Space")
    expect(page.locator("[data-kept]")).to_contain_text("All is in the shop's record")
    assert len(sent) == 2
    assert all(times > 1 for times in sent.values())
    assert len(kept(folder, "SR")) == 2
    context.close()


def test_a_sheet_is_filled_line_by_line_and_names_the_suspect(context: BrowserContext, address: str) -> None:
    page = context.new_page()
    complaints = watched(page)
    page.goto(f"{address}/c/TERN/bench/PW/test")
    page.wait_for_selector(".reading-line")
    sheet = page.request.get(f"{address}/api/conversions/TERN/bench/PW/test").json()
    for number, item in enumerate(sheet["items"]):
        expect(page.locator(".reading-line b")).to_have_text(item["title"])
        if item["quantity"] == "open":
            page.get_by_role("button", name="Open").click()
            continue
        field = page.get_by_label("What the meter shows")
        if number == 0:
            field.fill("much")
            page.keyboard.press("Enter")
            expect(page.locator(".entry .wrong")).to_contain_text("is no number")
            page.locator(".entry").get_by_role("button", name="Open").click()
            expect(page.locator(".is-said")).to_contain_text("Does not pass: open")
            page.get_by_role("button", name="Next").click()
        else:
            field.fill(item["expect"].split()[0])
            page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Not all of it is done")
    expect(page.locator(".diagnosis")).to_contain_text(f"{len(sheet['items']) - 1} lines pass, 1 fail, 0 not measured.")
    expect(page.locator(".diagnosis")).to_contain_text(re.compile("W[0-9]+ does not conduct"))
    # It is put right and measured again.
    page.get_by_role("button", name="Line 1", exact=True).click()
    page.get_by_label("What the meter shows").fill(sheet["items"][0]["expect"].split()[0])
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Every line passes")
    assert complaints == []


def test_a_stop_of_the_electrics_lets_nobody_on_before_every_line_passes(context: BrowserContext, address: str) -> None:
    page = context.new_page()
    page.goto(f"{address}/c/TERN/bench/electrics/test#stage%2012%20V")
    expect(page.get_by_role("heading", level=1)).to_have_text("Stage 2: 12 V")
    expect(page.get_by_role("button", name="Go on")).to_be_disabled()
    page.get_by_role("button", name="Line 1", exact=True).click()
    expect(page.locator(".reading-line b")).to_have_text("Line 1")


@pytest.mark.parametrize("path", ["/FR/lay", "/FR/test", "/electrics/test", "/sense-B1/test", ""])
@pytest.mark.parametrize("size", [(1440, 900), (1024, 768), (512, 384), (390, 844)])
def test_nothing_is_wider_than_the_screen_and_the_buttons_are_large(context: BrowserContext, address: str, path: str, size: tuple[int, int]) -> None:  # fmt: skip
    """512 by 384 is a tablet at 200 % zoom."""
    page = context.new_page()
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(f"{address}/c/TERN/bench{path}")
    page.wait_for_selector("[data-line]:not([hidden])" if path else ".bench-list")
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    for button in page.locator("[data-acts] button").all():
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 68


@pytest.mark.parametrize("theme", ["bench", "paper"])
def test_the_bench_is_held_to_the_rules_of_access(context: BrowserContext, address: str, theme: str) -> None:
    if not AXE.is_file():
        pytest.skip("axe-core is not here: npm ci")
    context.add_cookies([{"name": "theme", "value": theme, "url": address}])
    page = context.new_page()
    for path in ("", "/FR/lay#W103", "/FR/test", "/electrics/test#stage%2012%20V", "/sense-B1/test"):
        page.goto(f"{address}/c/TERN/bench{path}")
        page.wait_for_selector("[data-line]:not([hidden])" if path else ".bench-list")
        page.evaluate(AXE.read_text(encoding="utf-8"))
        found = page.evaluate("axe.run(document, {resultTypes: ['violations']})")["violations"]
        assert [(path, item["id"], [node["html"][:200] for node in item["nodes"]]) for item in found] == []

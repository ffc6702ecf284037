"""Editing in a real browser: a wire list pasted with two mistakes and mended, two editors at once, undo and redo, the keyboard alone."""

from __future__ import annotations

import time

import pytest
from playwright.sync_api import Browser, Page, expect

from browser import watched

SLOW_MS = 20_000


@pytest.fixture
def car(browser: Browser, address: str) -> str:
    """A demo car of this test's own: its address."""
    context = browser.new_context()
    made = context.request.post(f"{address}/api/conversions/demo", headers={"origin": address})
    ref = made.json()["ref"]
    context.close()
    return f"{address}/c/{ref}"


def opened(browser: Browser, url: str) -> Page:
    """A page in a browser of its own."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, permissions=["clipboard-read", "clipboard-write"])
    context.set_default_timeout(SLOW_MS)
    expect.set_options(timeout=SLOW_MS)
    page = context.new_page()
    page.goto(url)
    page.wait_for_selector("#grid[data-ready]")
    return page


def at(page: Page, row: int, column: int) -> None:
    """Put the cursor on a cell by keys alone."""
    page.locator("#grid").focus()
    page.keyboard.press("Control+Home")
    for _ in range(row):
        page.keyboard.press("ArrowDown")
    for _ in range(column):
        page.keyboard.press("ArrowRight")


def words(page: Page, row: int, column: int) -> str:
    return page.locator(f"#g-{row}-{column}").inner_text().strip()


def kept(page: Page) -> None:
    """Wait until the app has what was typed."""
    expect(page.locator("#draft")).to_contain_text("draft")


def copy(page: Page, text: str) -> None:
    page.evaluate("words => navigator.clipboard.writeText(words)", text)


def save(page: Page, by: str, reason: str) -> None:
    page.get_by_role("button", name="Save revision").first.click()
    page.get_by_label("Your name").fill(by)
    page.get_by_label("Why").fill(reason)
    page.locator("#saving button[value=save]").click()


def test_a_wire_list_is_pasted_with_two_mistakes_and_mended(browser: Browser, car: str) -> None:
    page = opened(browser, f"{car}/wires")
    complaints = watched(page)
    wires = [
        "Ref\tMeaning\tFrom pin\tTo pin\tSection, mm²\tColour\tInsulation class\tLoom\tSystem",
        "W901\tspare signal\tVCU.A.20\tIGN.A.1\t0.5\tBU\tB\tFR\tPED",
        "W902\tspare signal\tVCU.A.21\tIGN.A.2\t0.5\tviolet\tB\tFR\tPED",
        "W903\tspare signal\tVCU.A.99\tIGN.A.3\t0.5\tGY\tB\tFR\tPED",
    ]
    page.locator("#grid").focus()
    page.get_by_role("button", name="Add row").click()
    page.keyboard.press("Control+End")
    page.keyboard.press("Home")
    page.get_by_role("button", name="Add row").click()
    copy(page, "\n".join(wires))
    page.keyboard.press("Control+v")
    expect(page.get_by_role("button", name="2 cells to mend")).to_be_visible()
    expect(page.locator("#draft")).to_contain_text("2 cells to mend")
    assert page.get_by_role("button", name="Save revision").first.is_disabled()

    # It survives a reload as it was typed, and one count walks through what is wrong.
    page.reload()
    page.wait_for_selector("#grid[data-ready]")
    page.get_by_role("button", name="2 cells to mend").click()
    expect(page.locator(".g-fault")).to_have_count(2)
    expect(page.locator(".g-fault").first).to_contain_text("violet is VT")
    page.get_by_role("button", name="Put VT").click()
    page.get_by_role("button", name="1 cell to mend").click()
    page.locator("[data-remedy]").click()
    expect(page.locator(".g-fault")).to_have_count(0)
    expect(page.locator("#follows[data-state=all]")).to_contain_text("W902")
    save(page, "Ann", "three spare wires")
    expect(page.locator(".revision")).to_contain_text("Ann: three spare wires")
    page.wait_for_selector("#grid[data-ready]")
    expect(page.locator("#grid-count")).to_contain_text("146 wires")
    assert complaints == []


def test_the_keyboard_alone_is_enough(browser: Browser, car: str) -> None:
    page = opened(browser, f"{car}/wires")
    page.locator("#grid").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("F2")
    page.keyboard.type(" b")
    page.keyboard.press("Enter")
    kept(page)
    assert words(page, 0, 1).endswith(" b")
    assert page.evaluate("document.activeElement.id") == "grid"

    # Escape gives up, typing replaces, Tab goes on to the right, Delete clears, Ctrl D fills down, Ctrl Z and Y go back and on.
    page.keyboard.press("Enter")
    page.keyboard.type("never")
    page.keyboard.press("Escape")
    assert "never" not in words(page, 1, 1)
    at(page, 0, 1)
    page.keyboard.type("one")
    page.keyboard.press("Tab")
    assert words(page, 0, 1) == "one"
    expect(page.locator("#grid")).to_have_attribute("aria-activedescendant", "g-0-2")
    at(page, 0, 1)
    for _ in range(2):
        page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Control+d")
    expect(page.locator("#g-2-1")).to_have_text("one")
    page.keyboard.press("Control+c")
    assert page.evaluate("navigator.clipboard.readText()") == "one\none\none"
    page.keyboard.press("Delete")
    expect(page.locator(".g-fault")).to_have_count(3)
    page.keyboard.press("Control+z")
    expect(page.locator(".g-fault")).to_have_count(0)
    expect(page.locator("#g-2-1")).to_have_text("one")
    page.keyboard.press("Control+y")
    expect(page.locator(".g-fault")).to_have_count(3)

    # Out of the grid again.
    page.keyboard.press("Escape")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") != "grid"


def test_undo_and_redo_go_through_typing_and_then_through_revisions(browser: Browser, car: str) -> None:
    page = opened(browser, f"{car}/wires")
    was = words(page, 0, 1)
    undo, redo = page.get_by_role("button", name="Undo"), page.get_by_role("button", name="Redo")
    expect(undo).to_be_disabled()
    for text in ("first", "second"):
        at(page, 0, 1)
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    kept(page)
    for text in ("first", was):
        undo.click()
        expect(page.locator("#g-0-1")).to_have_text(text)
    expect(page.locator("#draft")).to_have_text("")
    redo.click()
    expect(page.locator("#g-0-1")).to_have_text("first")
    kept(page)
    save(page, "Ann", "a better name")
    expect(page.locator(".revision")).to_contain_text("a better name")
    page.wait_for_selector("#grid[data-ready]")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".revision")).to_contain_text("the demo car")
    page.wait_for_selector("#grid[data-ready]")
    expect(page.locator("#g-0-1")).to_have_text(was)
    page.get_by_role("button", name="Redo").click()
    expect(page.locator(".revision")).to_contain_text("a better name")


def test_two_editors_at_once(browser: Browser, car: str) -> None:
    ann, ben = (opened(browser, f"{car}/wires") for _ in range(2))
    for page, text in ((ann, "by Ann"), (ben, "by Ben")):
        at(page, 0, 1)
        page.keyboard.type(text)
        page.keyboard.press("Enter")
        kept(page)
    at(ben, 3, 1)
    ben.keyboard.type("only Ben")
    ben.keyboard.press("Enter")
    save(ann, "Ann", "Ann was quicker")
    expect(ann.locator(".revision")).to_contain_text("Ann was quicker")

    # Ben is shown what changed, cell by cell, while he types.
    expect(ben.locator("#others")).to_contain_text("Ann saved meanwhile: 1 cell.")
    expect(ben.locator("#others")).to_contain_text("by Ann")
    save(ben, "Ben", "Ben too")
    ben.wait_for_url("**/revisions/merge*")
    expect(ben.locator("#choose")).to_contain_text("by Ann")
    expect(ben.locator("#choose tbody tr")).to_have_count(1)
    ben.get_by_label("by Ben").check()
    ben.get_by_role("button", name="Merge the two").click()
    ben.wait_for_url("**/revisions")
    expect(ben.locator("#revisions")).to_contain_text("Ann was quicker")

    ann.goto(f"{car}/wires")
    ann.wait_for_selector("#grid[data-ready]")
    assert (words(ann, 0, 1), words(ann, 3, 1)) == ("by Ben", "only Ben")


def test_two_thousand_wires_scroll_without_a_gap(browser: Browser, car: str) -> None:
    page = opened(browser, f"{car}/wires")
    rows = page.evaluate("fetch(document.body.dataset.conversion && `/api/conversions/${document.body.dataset.conversion}/tables/wires`).then(one => one.json())")["rows"]  # fmt: skip
    many = [[f"X{number}", *rows[number % len(rows)][1:]] for number in range(2_000)]
    copy(page, "\n".join("\t".join(cells[:8]) for cells in many))
    at(page, 0, 0)
    page.keyboard.press("Control+v")
    expect(page.locator("#grid-count")).to_contain_text("2000 wires")
    kept(page)
    assert page.locator("#grid [role=row]").count() < 100
    gaps = page.evaluate("""async () => {
      const grid = document.getElementById("grid");
      const frame = () => new Promise(requestAnimationFrame);
      let gaps = 0;
      for (let top = 0; top < grid.scrollHeight; top += grid.clientHeight * 3) {
        grid.scrollTop = top;
        await frame();
        const box = grid.getBoundingClientRect();
        for (const part of [0.2, 0.5, 0.9]) {
          const y = box.top + box.height * part;
          const seen = document.elementFromPoint(box.left + 120, y);
          if (!seen?.closest(".g-line")) gaps += 1;
        }
      }
      return gaps;
    }""")
    assert gaps == 0
    page.locator("#grid").focus()
    page.keyboard.press("Control+End")
    expect(page.locator('[data-row="wire:X1999"]')).to_be_visible()


def test_findings_follow_an_edit_soon(browser: Browser, car: str) -> None:
    """The issue asks for half a second on a machine of its own; the bound here is wide, for shared ones, and still far from a page that waits."""
    page = opened(browser, f"{car}/wires")
    expect(page.locator("[data-number=wires]")).not_to_have_text("", timeout=120_000)  # nothing else is worked out meanwhile
    for text in ("VCU.A.2", "VCU.A.1"):  # the first edit warms up
        at(page, 2, 2)
        page.keyboard.type(text)
        page.evaluate("delete document.getElementById('follows').dataset.state")
        began = time.perf_counter()
        page.keyboard.press("Enter")
        page.wait_for_selector("#follows[data-state] .finding.stop")
        took = time.perf_counter() - began
        print(f"an edit to its findings on the page: {took:.2f} s")
    assert took < 2.0


def test_a_what_if_is_tried_and_taken(browser: Browser, car: str) -> None:
    page = opened(browser, f"{car}/wires")
    page.goto(f"{car}/revisions")
    page.get_by_label("Name", exact=True).fill("thicker pedal wires")
    page.get_by_label("Your name").first.fill("Ann")
    page.get_by_role("button", name="Start a what-if from here").click()
    page.wait_for_url("**/car?line=*")
    expect(page.locator(".revision")).to_contain_text("what-if thicker pedal wires")
    page.get_by_role("navigation", name="Contents").get_by_role("link", name="Wires").click()
    page.wait_for_selector("#grid[data-ready]")
    at(page, 0, 4)
    page.keyboard.type("0.75")
    page.keyboard.press("Enter")
    kept(page)
    save(page, "Ann", "try it")
    expect(page.locator(".revision")).to_contain_text("try it")
    page.goto(f"{car}/wires")
    page.wait_for_selector("#grid[data-ready]")
    assert words(page, 0, 4) == "0.5"
    page.goto(f"{car}/revisions")
    page.get_by_role("button", name="Take thicker pedal wires").click()
    expect(page.locator("#revisions")).to_contain_text("taken")
    page.goto(f"{car}/revisions/compare")
    expect(page.locator("#work")).to_contain_text("Cut again", timeout=120_000)

"""Every page answers, leads only to what is there, and carries nothing that the content policy would refuse."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from halfshaft.drawings.diagrams.document import diagrams_of
from halfshaft.model.conversion import Conversion
from halfshaft.records.conversions import create
from halfshaft.study import Study
from halfshaft.web.contents import PAGES, Page, book_titles, pages_of
from store import clock, small_of

LEAVES = [f"/c/TERN/{page.slug}/{tab.slug}" for page in PAGES for tab in page.tabs if page.slug not in ("boards", "diagram")]
ALL = ["/conversions", *(f"/c/TERN/{page.slug}" for page in PAGES), *LEAVES]


class Reader(HTMLParser):
    """Links, labels and whatever is written into the page that belongs in a file."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: set[str] = set()
        self.inline: list[str] = []
        self.landmarks: set[str] = set()
        self.unnamed: list[str] = []
        self._open: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        if tag in ("a", "link", "script") and (target := values.get("href") or values.get("src")):
            self.links.add(target)
        if (tag == "script" and "src" not in values) or tag == "style" or "style" in values:
            self.inline.append(self.get_starttag_text() or tag)
        self.inline += [name for name in values if name.startswith("on")]
        if tag in ("header", "nav", "main", "aside", "footer"):
            self.landmarks.add(tag)
        if values.get("tabindex") == "0" and not (values.get("aria-label") or values.get("aria-labelledby")):
            self.unnamed.append(self.get_starttag_text() or tag)


@pytest.mark.parametrize("path", ALL)
def test_a_page_answers_with_nothing_written_into_it_that_belongs_in_a_file(client: TestClient, path: str) -> None:
    page = client.get(path)
    assert page.status_code == 200, page.text[:400]
    reader = Reader(page.text)
    assert reader.inline == []
    assert reader.unnamed == []
    if path.startswith("/c/"):
        assert reader.landmarks == {"header", "nav", "main", "aside", "footer"}
        assert page.text.count("<h1>") == 1


@pytest.mark.parametrize(
    "path", ["/c/TERN/car?sel=wire:W103", "/c/TERN/findings", "/c/TERN/boards?sel=device:VCU", "/c/TERN/diagram", "/conversions"]
)
def test_every_link_of_a_page_leads_somewhere(client: TestClient, path: str) -> None:
    found = {link.partition("#")[0] for link in Reader(client.get(path).text).links}
    for link in sorted(found - {""})[:60]:
        assert client.get(link).status_code == 200, link


def test_the_only_conversion_is_opened_at_once(client: TestClient) -> None:
    assert client.get("/").headers["location"] == "/c/TERN/car"
    assert client.get("/c/TERN").headers["location"] == "/c/TERN/car"


def test_the_head_says_what_is_open_who_saved_it_when_and_why(client: TestClient) -> None:
    text = re.sub(r"\s+", " ", client.get("/c/TERN/car").text)
    assert "Aldwick Tern</a>" in text
    assert re.search(r"revision [0-9a-f]{7}, 28 Nov 2026, \d\d:\d\d, K\. B\.: the demo car", text)


def test_pages_have_the_numbers_of_the_book(client: TestClient, tern_book: object) -> None:
    """The numbers in the contents are those of the book's own sections, counted in its titles."""
    import pdfplumber

    numbers = client.get("/api/conversions/TERN/state").json()["numbers"]
    with pdfplumber.open(f"{tern_book}/book.pdf") as pdf:
        words = "\n".join(page.extract_text() or "" for page in pdf.pages[:3])
    for slug, title in ((page.slug, page.book_title) for page in PAGES if page.book_title):
        printed = re.search(rf"(\d+) {re.escape(title)}", words)
        assert printed is not None, title
        assert int(printed[1]) == numbers[slug], slug


def test_every_section_of_the_book_is_on_a_page(tern_study: Study) -> None:
    """Findings, boards and diagrams have pages of their own making."""
    titles = book_titles(tern_study, diagrams_of(tern_study.conversion, tern_study.wires))
    shown = {section["title"] for page in PAGES for tab in page.tabs for section in pages_of(tern_study, tab).sections}
    assert set(titles) - shown == {"Findings", "Loom boards", "Wiring diagrams"}
    assert {page.book_title for page in PAGES} - {""} <= set(titles)


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/c/TERN/nothing", 404, "no page nothing"),
        ("/c/NONE/car", 404, "NONE"),
        ("/c/TERN/wires/nothing", 404, "no nothing on the page Wires"),
        ("/c/TERN/boards/TERN-LB-XX", 404, "no drawing TERN-LB-XX"),
        ("/c/TERN/car?rev=12345678", 404, "12345678"),
        ("/c/TERN/car?rev=../../etc", 422, "rev"),
        ("/nowhere", 404, "no such page"),
    ],
)
def test_what_is_not_there_is_said_in_a_sentence(client: TestClient, path: str, status: int, words: str) -> None:
    page = client.get(path)
    assert page.status_code == status
    assert words in page.text
    assert "Traceback" not in page.text


def test_an_empty_app_says_the_first_step_and_opens_the_demo(empty: TestClient) -> None:
    assert "Open the demo car" in empty.get("/").text
    made = empty.post("/api/conversions/demo").json()
    assert (made["ref"], made["name"]) == ("TERN", "Aldwick Tern")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.slug)
def test_a_conversion_that_has_only_begun_has_every_page(empty: TestClient, tern: Conversion, page: Page) -> None:
    app = empty.app
    assert isinstance(app, FastAPI)
    create(app.state.shelf.db, small_of(tern), by="K. B.", at=clock())
    for tab in page.tabs:
        answer = empty.get(f"/c/TERN/{page.slug}" + ("" if tab is page.tabs[0] else f"/{tab.slug}"))
        assert answer.status_code == 200, answer.text[:300]
        assert "<h1>" in answer.text


def test_findings_are_told_by_shape_and_word_with_basis_and_links(client: TestClient) -> None:
    page = client.get("/c/TERN/findings").text
    found = client.get("/api/conversions/TERN/findings").json()
    assert page.count('<article class="finding whole') == len(found)
    for item in found[:5]:
        assert item["rule"] in page
    assert 'class="level fix"' in page
    assert "common practice" in page
    assert 'data-ref="run:U17"' in page


def test_the_theme_of_the_cookie_is_in_the_page_and_nothing_else_of_it(client: TestClient) -> None:
    assert 'data-theme="bench"' in client.get("/c/TERN/wires", headers={"cookie": "theme=bench"}).text
    assert "data-theme" not in client.get("/c/TERN/wires", headers={"cookie": 'theme="><script>'}).text.partition("<head>")[0]

"""The contents of the app: its pages, each with the sections of the build book that it shows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from halfshaft.book.frame import Pages
from halfshaft.book.pages import pages_of as book_pages
from halfshaft.book.sections.batch import batch
from halfshaft.book.sections.bundles import bundles
from halfshaft.book.sections.buses import buses
from halfshaft.book.sections.cables import cables
from halfshaft.book.sections.car import car
from halfshaft.book.sections.commissioning import commissioning
from halfshaft.book.sections.connectors import connectors
from halfshaft.book.sections.crimps import crimps
from halfshaft.book.sections.electrics import fuses
from halfshaft.book.sections.fault_finder import fault_finder
from halfshaft.book.sections.handling import mounts
from halfshaft.book.sections.high_voltage import high_voltage
from halfshaft.book.sections.hv_safety import hv_safety
from halfshaft.book.sections.laying import run_out_list
from halfshaft.book.sections.low_voltage import low_voltage
from halfshaft.book.sections.mass import mass
from halfshaft.book.sections.pack import pack
from halfshaft.book.sections.protection import time_current
from halfshaft.book.sections.sensing import cell_sensing
from halfshaft.book.sections.spare import spare
from halfshaft.book.sections.testing import tests
from halfshaft.book.sections.wiring import cables_and_hoses, cut_list, from_to
from halfshaft.book.sections.workshop import holes, parts
from halfshaft.drawings.diagrams.document import Diagrams
from halfshaft.drawings.shapes import Drawing
from halfshaft.study import Study

Section = Callable[[Study, Pages], None]


@dataclass(frozen=True, slots=True)
class Tab:
    """One leaf of a page: its name in the address, its title, and the sections of the book on it; none where the page draws its own.

    A slow one waits for what another process works out.
    """

    slug: str
    title: str
    sections: tuple[Section, ...] = ()
    is_slow: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """A page of the app, in the order of the book; its number is that of the first section of the book that it shows, titled `book_title`."""

    slug: str
    title: str
    tabs: tuple[Tab, ...]
    book_title: str = ""

    def tab(self, slug: str | None) -> Tab | None:
        """One of its leaves; the first where none is named."""
        return self.tabs[0] if slug is None else next((tab for tab in self.tabs if tab.slug == slug), None)


CAR, ARRANGE, FINDINGS, WIRES, DIAGRAM, BOARDS, BOOK, BENCH = "car", "arrange", "findings", "wires", "diagram", "boards", "book", "bench"
TABLES, REVISIONS = "tables", "revisions"
PAGES = (
    Page(CAR, "The car", (Tab("solid", "In the round"), Tab("drawing", "Drawing"), Tab("refs", "Refs and spaces", (car,))), "The car"),
    Page("weights", "The weights", (Tab("mass", "Mass and axle loads", (mass,)), Tab("feet", "Feet of the boxes", (mounts,))), "Mass and axle loads"),
    Page("pack", "The pack", (Tab("pack", "Pack and joints", (pack,)), Tab("cells", "Cell sensing", (cell_sensing,))), "Battery pack"),
    Page("high-voltage", "High voltage", (Tab("chain", "The chain", (high_voltage,)), Tab("safety", "Safety", (hv_safety,))), "High-voltage chain"),
    Page(
        WIRES,
        "Wires",
        (
            Tab("list", "Wires"), Tab("from-to", "By loom", (from_to,)), Tab("cut", "Cut list", (cut_list,)), Tab("cables", "Cables and hoses", (cables_and_hoses,)),
            Tab("bundles", "Bundles", (bundles, spare)), Tab("connectors", "Connectors", (connectors,)), Tab("crimps", "Crimps", (crimps,)), Tab("buses", "Buses", (buses,)), Tab("laying", "Laying", (run_out_list,), True),
        ),
        "From-to list",
    ),
    Page("tests", "Tests", (Tab("readings", "Pin to pin", (tests,)), Tab("faults", "Fault-finder", (fault_finder,)), Tab("commissioning", "Commissioning", (commissioning,))), "Test sheet, pin to pin"),
    Page("fuses", "Fuses", (Tab("fuses", "Fuses and voltage drop", (fuses,)), Tab("curves", "Time and current", (time_current,)), Tab("heat", "Heating of cables", (cables,), True)), "Fuses and voltage drop"),
    Page("12-volts", "12 volts", (Tab("cases", "Cases, supply, volts", (low_voltage,)),), "12 V side: cases and supply"),
    Page("parts", "Parts", (Tab("list", "Parts list", (parts,)), Tab("batch", "Batch", (batch,), True), Tab("holes", "Holes and old wires", (holes,))), "Parts list"),
    Page(BOARDS, "Boards", (Tab("boards", "Boards"),), "Loom boards"),
    Page(DIAGRAM, "Diagram", (Tab("sheets", "Sheets"),), "Wiring diagrams"),
    Page(ARRANGE, "Arrange", (Tab("search", "Search"),)),
    Page(TABLES, "Tables", (Tab("all", "All"),)),
    Page(FINDINGS, "Findings", (Tab("all", "All"),)),
    Page(REVISIONS, "Revisions", (Tab("list", "All"), Tab("compare", "Compare"), Tab("merge", "Choose"))),
    Page(BOOK, "Book", (Tab("files", "Files"),)),
    Page(BENCH, "Bench", (Tab("work", "Laying and testing"),)),
)  # fmt: skip
BY_SLUG = {page.slug: page for page in PAGES}


def pages_of(study: Study, tab: Tab) -> Pages:
    """What the book says on a leaf, with its pictures."""
    pages = Pages()
    for section in tab.sections:
        section(study, pages)
    return pages


def book_titles(study: Study, diagrams: Diagrams) -> list[str]:
    """The titles of all sections of the book, in their order."""
    # The boards' pictures are not looked at: any drawing does.
    blank = Drawing(1.0, 1.0, ())
    owners = (study, study.sensing) if study.sensing else (study,)
    drawings = {ref: blank for owner in owners for ref in owner.boards}
    return [section["title"] for section in book_pages(study, drawings, diagrams).sections]

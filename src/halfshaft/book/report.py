"""The change report as a paper of its own, with its list."""

from __future__ import annotations

from halfshaft.book.blocks import Block, facts
from halfshaft.book.build import CONTENTS, Book, Item, contents
from halfshaft.book.frame import Pages
from halfshaft.book.lists import change_list
from halfshaft.book.paper import paper_pdf
from halfshaft.book.sections.changes import closing, figures, opening, step
from halfshaft.pens.xlsx import xlsx
from halfshaft.studies.changes.records import ACTS, Changes
from halfshaft.study import Study

# Steps that are done at one go, at one place, share a section.
SECTIONS = {
    "Stop, take out, buy": ("stop", "unmake", "buy"),
    "Make and trial fit": ("make", "fit"),
    "Cut again, looms and boards": ("cut", "loom"),
    "Print and test again": ("print", "test"),
    "Only to know": ("know",),
}


def change_report(study: Study, changes: Changes, *, digest: str) -> Book:
    """The report as PDF and spreadsheet; `study` is the car as it is to be."""
    pages = Pages()
    pages.add("What it does to the car", [*figures(changes.figures), *closing(changes)])
    for title, acts in SECTIONS.items():
        blocks = [block for act in ACTS if act in acts for block in step(changes, act)]
        if blocks:
            pages.add(title, blocks)
    cover: list[Block] = [facts(("As it was", changes.before), ("As it is to be", changes.after)), *opening(changes)]
    listing = change_list(changes)
    items = [
        Item(file="changes.pdf", title=f"Change report, {study.conversion.job.name}", kind="report"),
        Item(file="changes.xlsx", title=listing.title, kind="list"),
    ]
    files = {
        "changes.pdf": paper_pdf("report", study, pages, cover, digest),
        "changes.xlsx": xlsx([(listing.name, listing.header, listing.rows)]),
        CONTENTS: contents(items),
    }
    return Book(files, tuple(items))

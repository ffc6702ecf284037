"""The whole book as files."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Callable
from dataclasses import dataclass

from halfshaft.book.frame import board_number
from halfshaft.book.lists import Listing, change_list, label_list, lists_of
from halfshaft.book.pages import cover, pages_of
from halfshaft.book.paper import paper_pdf
from halfshaft.drawings.board import board_drawing
from halfshaft.drawings.box_sheets.sheet import box_number, box_sheet
from halfshaft.drawings.diagrams.document import Diagrams, diagrams_of
from halfshaft.drawings.labels import label_pages, labels_of
from halfshaft.drawings.scene import scene_of
from halfshaft.drawings.shapes import Drawing
from halfshaft.drawings.tiles import PAPERS, Correction, overlay, tiling
from halfshaft.drawings.views.picture import book_picture
from halfshaft.drawings.views.sheet import car_number, car_sheet
from halfshaft.files.filled import blank_sheet
from halfshaft.pens.dxf import dxf
from halfshaft.pens.glb import glb
from halfshaft.pens.pdf import drawing_pdf, tiles_pdf
from halfshaft.pens.svg import svg
from halfshaft.pens.xlsx import xlsx
from halfshaft.studies.changes.records import Changes
from halfshaft.studies.commissioning.records import SHEET
from halfshaft.studies.looms.bus import BUS
from halfshaft.study import Study

CONTENTS = "contents.json"
Say = Callable[[str], None]


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """One file of the book, as `contents.json` lists it."""

    file: str
    title: str
    kind: str
    loom: str | None = None
    width_mm: float | None = None
    height_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Book:
    """All files by name, and what they are."""

    files: dict[str, bytes]
    items: tuple[Item, ...]


def digest_of(files: dict[str, bytes]) -> str:
    """A short digest of a conversion's canonical files: two descriptions with one digest are the same."""
    total = hashlib.sha256()
    for name, data in sorted(files.items()):
        total.update(f"{name} {len(data)}\n".encode())
        total.update(data)
    return total.hexdigest()[:10]


def build_book(study: Study, *, digest: str, correction: Correction, say: Say, changes: Changes | None = None) -> Book:
    """Make every file of the book in memory; with `changes` it says what changed since it was described otherwise."""
    made: dict[str, bytes] = {}
    items: list[Item] = []

    def put(data: bytes, item: Item) -> None:
        made[item.file] = data
        items.append(item)

    say("laying the boards")
    stops = sum(finding.level == "stop" for finding in study.findings)
    # The looms inside the battery boxes are drawn, labelled and tested like the others.
    owners = [owner for owner in (study, study.sensing) if owner]
    owner_of = {ref: owner for owner in owners for ref in owner.boards}
    drawings = {
        ref: board_drawing(owner.conversion, owner.routing.loom(ref), owner.boards[ref], owner.wires, board_number(owner, ref), stops)
        for ref, owner in owner_of.items()
    }
    say("drawing the wiring diagrams")
    diagrams = diagrams_of(study.conversion, study.wires)
    _put_diagrams(study, diagrams, put)
    say("typesetting the book")
    put(
        _book_pdf(study, drawings, diagrams, digest, changes),
        Item(file="book.pdf", title=f"Build book, {study.conversion.job.name}", kind="book"),
    )
    for ref, drawing in drawings.items():
        say(f"drawing board {ref}")
        _put_board(owner_of[ref], ref, drawing, correction, put)
    say("labels and lists")
    labels = [label for owner in owners for label in labels_of(owner.conversion, owner.routing, diagrams.references.wires)]
    if labels:
        put(
            drawing_pdf(label_pages(labels, study.conversion.job.revision)),
            Item(file="labels/labels.pdf", title="Wire labels, A4 to cut", kind="labels"),
        )
    put(_csv(label_list(labels)), Item(file="labels/labels.csv", title="Wire labels for a label printer", kind="labels"))
    for owner in owners:
        _put_tests(owner, put)
    if study.commissioning.steps:
        put(
            blank_sheet(SHEET, study.commissioning.readings),
            Item(file=f"tests/{SHEET}.csv", title="Commissioning of the electrics, to fill by hand", kind="tests"),
        )
    for sheet in study.probe_sheets.values():
        item = Item(file=f"tests/{sheet.name}.csv", title=f"Cell taps of box {sheet.box}, volts before plugging", kind="tests")
        put(blank_sheet(sheet.name, sheet.readings), item)
    say("drawing the car and its boxes")
    _put_pictures(study, put)
    for listing in [*lists_of(study), label_list(labels), *([change_list(changes)] if changes else [])]:
        put(xlsx([(listing.name, listing.header, listing.rows)]), Item(file=f"lists/{listing.name}.xlsx", title=listing.title, kind="list"))
    made[CONTENTS] = contents(items)
    return Book(made, tuple(items))


def _put_pictures(study: Study, put: Callable[[bytes, Item], None]) -> None:
    """The three views for a browser, the sheets of car and boxes, and the scene for a viewer."""
    conversion = study.conversion
    views = book_picture(conversion, study.routing, study.mass)
    sheets = {car_number(conversion): car_sheet(conversion, study.routing, study.mass)}
    sheets |= {box_number(conversion, box): box_sheet(conversion, box) for box in conversion.boxes}

    def item(file: str, title: str, drawing: Drawing) -> Item:
        return Item(file=f"drawings/{file}", title=title, kind="drawing", width_mm=drawing.width_mm, height_mm=drawing.height_mm)

    put(svg(views).encode(), item("views.svg", "Car from the left, from above and from behind", views))
    for number, drawing in sheets.items():
        put(drawing_pdf([drawing]), item(f"{number}.pdf", drawing.title, drawing))
        put(svg(drawing).encode(), item(f"{number}.svg", f"{drawing.title}, for a browser", drawing))
        put(dxf(drawing), item(f"{number}.dxf", f"{drawing.title}, for a drawing program", drawing))
    scene = glb(scene_of(conversion, study.routing, study.mass), title=conversion.job.name)
    put(scene, Item(file="drawings/car.glb", title="Car as a scene of solids, for a 3D viewer", kind="scene"))


def _put_tests(study: Study, put: Callable[[bytes, Item], None]) -> None:
    """The lines of each loom's test sheet, to fill by a person or a tester and to read back with `halfshaft test`."""
    for loom in study.routing.looms:
        ref, name = loom.loom.ref, loom.loom.name
        for file, readings, title in (
            (f"tests/{ref}.csv", study.readings[ref], "test sheet to fill by hand"),
            (f"tests/{ref}-tester.csv", study.readings_for_tester[ref], "test sheet for a tester, every two groups"),
        ):
            put(blank_sheet(ref, readings), Item(file=file, title=f"{name}, {title}", kind="tests", loom=ref))
    if study.bus_readings:
        put(blank_sheet(BUS, study.bus_readings), Item(file=f"tests/{BUS}.csv", title="Bus, test sheet to fill by hand", kind="tests"))


def contents(items: list[Item]) -> bytes:
    """The list of a folder's files, for another program."""
    rows = [{name: value for name in Item.__dataclass_fields__ if (value := getattr(item, name)) is not None} for item in items]
    return (json.dumps(rows, indent=1, ensure_ascii=False) + "\n").encode()


def _put_board(study: Study, ref: str, drawing: Drawing, correction: Correction, put: Callable[[bytes, Item], None]) -> None:
    loom, number = study.conversion.loom[ref], board_number(study, ref)

    def item(name: str, title: str, kind: str) -> Item:
        return Item(
            file=f"boards/{name}",
            title=f"{loom.name}, {title}",
            kind=kind,
            loom=ref,
            width_mm=drawing.width_mm,
            height_mm=drawing.height_mm,
        )

    sheet = drawing_pdf([drawing])
    put(sheet, item(f"{number}.pdf", "board at full size, one sheet", "board"))
    put(dxf(drawing), item(f"{number}.dxf", "board at full size, for a drawing program", "board"))
    put(svg(drawing).encode(), item(f"{number}.svg", "board at full size, for a browser", "board"))
    for paper in PAPERS:
        cut = tiling(drawing, paper=paper, correction=correction)
        overlays = [
            overlay(cut, tile, number=number, revision=study.conversion.job.revision, title=loom.name, correction=correction)
            for tile in cut.tiles
        ]
        pdf = tiles_pdf(sheet, (drawing.width_mm, drawing.height_mm), cut, overlays, correction)
        put(pdf, item(f"{number}-{paper}.pdf", f"board at full size on {len(cut.tiles)} sheets of {paper}", "tiles"))


def _put_diagrams(study: Study, diagrams: Diagrams, put: Callable[[bytes, Item], None]) -> None:
    """All sheets as one document, and each sheet by itself."""
    if not diagrams.drawings:
        return
    stem = f"diagrams/{study.conversion.job.ref}-WD"
    put(drawing_pdf(list(diagrams.drawings.values())), Item(file=f"{stem}.pdf", title="Wiring diagrams with index", kind="diagrams"))
    for number, drawing in diagrams.drawings.items():
        put(
            svg(drawing).encode(),
            Item(
                file=f"diagrams/{number}.svg", title=drawing.title, kind="diagram", width_mm=drawing.width_mm, height_mm=drawing.height_mm
            ),
        )
        put(
            dxf(drawing),
            Item(
                file=f"diagrams/{number}.dxf", title=drawing.title, kind="diagram", width_mm=drawing.width_mm, height_mm=drawing.height_mm
            ),
        )
    for number, drawing in diagrams.cards.items():
        put(drawing_pdf([drawing]), Item(file=f"diagrams/{number}.pdf", title=drawing.title, kind="card"))


def _book_pdf(study: Study, drawings: dict[str, Drawing], diagrams: Diagrams, digest: str, changes: Changes | None) -> bytes:
    return paper_pdf("book", study, pages_of(study, drawings, diagrams, changes), cover(study), digest)


def _csv(listing: Listing) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(listing.header)
    writer.writerows(listing.rows)
    return out.getvalue().encode()

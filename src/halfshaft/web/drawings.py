"""Every drawing of a revision as SVG, by its number."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from halfshaft.book.frame import board_number
from halfshaft.drawings.board import board_drawing
from halfshaft.drawings.box_sheets.sheet import box_number, box_sheet
from halfshaft.drawings.shapes import Drawing
from halfshaft.drawings.views.picture import book_picture
from halfshaft.drawings.views.sheet import car_number, car_sheet
from halfshaft.pens.svg import svg
from halfshaft.study import Study
from halfshaft.web.shelf import Held

VIEWS = "views"


def drawing_of(held: Held, number: str) -> Drawing | None:
    """One of them; None where there is none of that number. A board or diagram waits until it is laid."""
    maker = _makers(held).get(number)
    if maker is not None:
        return maker()
    return {**held.diagrams().drawings, **held.diagrams().cards}.get(number)


def svg_of(held: Held, number: str) -> str | None:
    """Its SVG, kept once it is made."""
    if number not in held.pictures:
        drawing = drawing_of(held, number)
        if drawing is None:
            return None
        held.pictures[number] = svg(drawing)
    return held.pictures[number]


def _makers(held: Held) -> dict[str, Callable[[], Drawing]]:
    study, conversion = held.study, held.study.conversion
    owners = (study, study.sensing) if study.sensing else (study,)

    def board(owner: Study, ref: str) -> Callable[[], Drawing]:
        def make() -> Drawing:
            held.boards()
            stops = sum(finding.level == "stop" for finding in study.design_findings)
            return board_drawing(owner.conversion, owner.routing.loom(ref), owner.boards[ref], owner.wires, board_number(owner, ref), stops)

        return make

    makers: dict[str, Callable[[], Drawing]] = {
        VIEWS: lambda: book_picture(conversion, study.routing, study.mass),
        car_number(conversion): lambda: car_sheet(conversion, study.routing, study.mass),
    }
    makers |= {box_number(conversion, box): partial(box_sheet, conversion, box) for box in conversion.boxes}
    for owner in owners:
        makers |= {board_number(owner, loom.ref): board(owner, loom.ref) for loom in owner.conversion.looms if loom.board_width_mm}
    return makers


def board_numbers(held: Held) -> dict[str, str]:
    """The loom's name by the number of its board, those inside the battery boxes last."""
    owners = (held.study, held.study.sensing) if held.study.sensing else (held.study,)
    return {board_number(owner, loom.ref): loom.name for owner in owners for loom in owner.conversion.looms if loom.board_width_mm}


def numbers_of(held: Held) -> list[str]:
    """The numbers of all drawings."""
    return [*_makers(held), *held.diagrams().drawings, *held.diagrams().cards]

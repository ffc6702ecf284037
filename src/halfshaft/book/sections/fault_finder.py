"""The pages that a fault-finder turns to: fuse by fuse what stops, load by load where to look."""

from __future__ import annotations

from halfshaft.book.blocks import Block, Cell, bold, caution, column, heading, number, small, table
from halfshaft.book.frame import DEFER, Pages
from halfshaft.studies.fault_finder.records import FaultFinder
from halfshaft.studies.fault_finder.words import direct_words, further_words, fuses_words, moved_words, name_of, steps_words
from halfshaft.studies.looms.continuity import natural
from halfshaft.study import Study

SIZE = 8.0
# With as many fuses or fewer both tables begin on one page.
ON_ONE_PAGE = 8
CARE = "A fuse that blew had a reason: find it before the next one goes in, and never fit a larger one. Orange cables and the boxes they end in are not for a 12 V meter. "


def fault_finder(study: Study, pages: Pages) -> None:
    """Both tables."""
    found = study.fault_finder
    if found is None or not found.fuses:
        return
    blocks: list[Block] = [
        caution("WARNING" if study.conversion.boxes or study.conversion.cables else "NOTICE", CARE + DEFER),
        heading("This fuse is open: what stops"),
        _stops(study, found),
        small(
            "At once: what loses its feed or its ground. With it: what stops because a relay's coil or a controller has stopped. All contacts are taken as closed, current through them as going "
            "away from the battery; a load with a second feed goes on. From the wires and parts as described (Kirchhoff's laws, no measurement)."
        ),
        *([{"kind": "break"}] if len(found.fuses) > ON_ONE_PAGE else []),
        heading("This does not work: where to look"),
        _looks(study, found),
        small(
            "Look at the fuses from left to right; then whether the relay clicks, and if not at the fuses of what moves it, in brackets; then at the plugs and wires from the last fuse on, and at the "
            "wires back to the ground point."
        ),
    ]
    pages.add("Fault-finder", blocks)


def _stops(study: Study, found: FaultFinder) -> Block:
    conversion = study.conversion
    rows: list[list[Cell]] = [
        [
            bold(row.fuse),
            number(row.rating_a, 1).removesuffix(".0") if row.rating_a else "",
            direct_words(conversion, found, row),
            further_words(conversion, row),
        ]
        for row in sorted(found.fuses, key=lambda item: natural(item.fuse))
    ]
    return table(
        [column("Fuse"), column("A", "auto", "right"), column("Stops at once", "1fr"), column("Stops with it", "1.3fr")], rows, size=SIZE
    )


def _looks(study: Study, found: FaultFinder) -> Block:
    rows: list[list[Cell]] = [
        [
            bold(name_of(study.conversion, row.load)),
            fuses_words(row),
            ", ".join(moved_words(item) for item in row.contacts),
            steps_words(row.there),
            steps_words(row.back),
        ]
        for row in sorted(found.symptoms, key=lambda item: natural(name_of(study.conversion, item.load).casefold()))
    ]
    columns = [
        column("Does not work", 27.0),
        column("Fuses, in order", 25.0),
        column("Relays and switches", "1fr"),
        column("From the last fuse", "1fr"),
        column("Back to ground", "0.8fr"),
    ]
    return table(columns, rows, size=SIZE)

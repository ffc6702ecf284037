"""In which views a thing is shown: what the selection line and the API say of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlencode

from halfshaft.book.frame import board_number
from halfshaft.drawings.diagrams.sheets import OTHER
from halfshaft.web.shelf import Opened
from halfshaft.web.things import Thing

IN_THE_CAR = frozenset({"device", "module", "plate", "space", "keep-out", "luggage-room", "cable", "hose", "wire", "run", "loom"})


@dataclass(frozen=True, slots=True)
class Link:
    """A page that shows something, by its title and address."""

    title: str
    href: str


def address(opened: Opened, path: str, *, sel: str | None = None) -> str:
    """The address of a page of what is open: with its revision, where that was asked for, its what-if, and what is chosen."""
    asked = {"rev": opened.rev} if opened.is_pinned else {}
    if not opened.is_main:
        asked["line"] = opened.line.id
    if sel is not None:
        asked["sel"] = sel
    words = urlencode(asked, safe=":")
    return f"/c/{opened.entry.ref}/{path}" + (f"?{words}" if words else "")


def shown_in(opened: Opened, thing: Thing) -> list[Link]:
    """The views that show it, in the order of the contents."""
    return [Link(title, address(opened, path, sel=thing.key)) for title, path in _paths(opened, thing)]


def _paths(opened: Opened, thing: Thing) -> Iterator[tuple[str, str]]:
    things, conversion = opened.things, opened.study.conversion
    if thing.kind in IN_THE_CAR:
        yield "the car", "car"
    # Wires are in the ledger by the loom, not one by one.
    if thing.kind != "wire" and any(entry.ref == thing.ref for entry in (*opened.study.mass.fitted, *opened.study.mass.removed)):
        yield "the weights", "weights"
    boxes = {box.ref for box in conversion.boxes}
    if thing.kind in ("module", "plate") or thing.ref in boxes:
        yield "the pack", "pack"
    if thing.kind == "cable" or (thing.kind == "device" and any(key.startswith("cable:") for key in things.pins.get(thing.ref, ()))):
        yield "high voltage", "high-voltage"
    if thing.kind in ("wire", "splice", "loom", "run") or (thing.kind == "device" and things.pins.get(thing.ref)):
        yield "the wires", "wires"
    if thing.key in things.fused:
        yield "fuses", "fuses"
    for loom in looms_of(opened, thing):
        yield f"board {loom}", f"boards/{board_number(opened.study, loom)}"
    for sheet in systems_of(opened, thing):
        yield f"diagram {sheet}", f"diagram/{conversion.job.ref}-WD-{sheet}"
    count = len(things.findings_of.get(thing.key, ()))
    if count:
        yield (f"{count} findings" if count > 1 else "1 finding"), "findings"


def looms_of(opened: Opened, thing: Thing) -> list[str]:
    """The looms whose boards show it."""
    conversion, routing = opened.study.conversion, opened.study.routing
    on_board = {loom.ref for loom in conversion.looms if loom.board_width_mm}
    match thing.kind:
        case "wire":
            found = {conversion.wire[thing.ref].loom}
        case "splice":
            found = {conversion.splice[thing.ref].loom}
        case "loom":
            found = {thing.ref}
        case "run":
            found = {laid.loom.ref for laid in routing.looms if any(run.run == thing.ref for run in laid.runs)}
        case "device":
            found = {laid.loom.ref for laid in routing.looms if any(tail.connector.partition(".")[0] == thing.ref for tail in laid.tails)}
        case _:
            found = set()
    return sorted(found & on_board)


def systems_of(opened: Opened, thing: Thing) -> list[str]:
    """The sheets of the wiring diagrams that show it, by the marks of their systems, in the order of the sheets."""
    conversion = opened.study.conversion
    rows = {f"wire:{wire.ref}": wire for wire in conversion.wires} | {f"cable:{cable.ref}": cable for cable in conversion.cables}
    keys = (thing.key,) if thing.key in rows else opened.things.pins.get(thing.ref, ()) if thing.kind in ("device", "splice") else ()
    found = {rows[key].system or OTHER for key in keys}
    return [ref for ref in [*(system.ref for system in conversion.systems), OTHER] if ref in found]

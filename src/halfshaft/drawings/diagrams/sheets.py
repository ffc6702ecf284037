"""The sheets of the wiring diagrams: one a system, each on the smallest paper on which it fits, with its cross references."""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfshaft.drawings.diagrams.layout import Layout, lay_out
from halfshaft.drawings.frame import PAPERS, Paper
from halfshaft.drawings.sheet import BLOCK_HEIGHT_MM, BLOCK_WIDTH_MM
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import sentence
from halfshaft.studies.diagrams.layers import rows_of
from halfshaft.studies.diagrams.units import Line, Unit, fuse_boxes, lines_of_box, lines_of_system, units_of, units_of_box

ROOM_MM, HEAD_MM, DOTS_MM = 10.0, 8.0, 26.0
# A smaller paper is worth this much more to follow with the finger.
TIDY_SHARE = 1.5
OTHER = "ETC"


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheet:
    """One sheet: what it shows, on which paper, and where the layout's lower left corner lies."""

    ref: str
    name: str
    number: int
    paper: Paper
    layout: Layout
    left_mm: float
    bottom_mm: float
    is_box: bool

    def zone_of_unit(self, unit: str) -> str:
        """The field in which a unit's upper left corner lies."""
        box = next(box for box in self.layout.boxes if box.unit.ref == unit)
        return self.paper.zone_of(box.left + self.left_mm, box.top + self.bottom_mm)

    @property
    def is_hv(self) -> bool:
        """Whether anything on it carries high voltage."""
        return any(wire.line.is_hv for wire in self.layout.wires)


def sheets_of(conversion: Conversion) -> tuple[Sheet, ...]:
    """One sheet for each system that has a wire, in the order of the systems; wires without a system share the last."""
    found: list[Sheet] = []
    systems = [(system.ref, system.name) for system in conversion.systems]
    for ref, name in [*systems, (None, "Everything else" if systems else "All wires")]:
        lines = lines_of_system(conversion, ref)
        if lines:
            found.append(_sheet(conversion, ref or OTHER, name, len(found) + 1, units_of(conversion, lines), lines))
    for device in fuse_boxes(conversion):
        lines = lines_of_box(conversion, device)
        title = sentence(conversion.device[device].name)
        found.append(_sheet(conversion, device, title, len(found) + 1, units_of_box(conversion, device, lines), lines, is_box=True))
    return tuple(found)


def _sheet(
    conversion: Conversion, ref: str, name: str, number: int, shown: tuple[Unit, ...], lines: tuple[Line, ...], *, is_box: bool = False
) -> Sheet:
    units = {unit.ref: unit for unit in shown}
    tried = [lay_out(conversion, units, lines, rows_of(conversion, units, lines, low=False))]
    if tried[0].crossings or _place(PAPERS[0], tried[0]) is None:
        tried.append(lay_out(conversion, units, lines, rows_of(conversion, units, lines, low=True)))
    for paper in PAPERS:
        found = _best_on(paper, tried)
        if found is None:
            # Too high even so: rows put together, as few as the paper asks for.
            rows = rows_of(conversion, units, lines, low=True)
            count = 1 + max((row for unit, row in rows.items() if units[unit].kind != "ground"), default=0)
            most = math.floor(count * (paper.inside[3] - paper.inside[1] - HEAD_MM) / tried[-1].height_mm)
            if 0 < most < count:
                squeezed = lay_out(conversion, units, lines, rows_of(conversion, units, lines, low=True, most=most))
                found = _best_on(paper, [squeezed]) if _untidy(squeezed) < TIDY_SHARE * _untidy(tried[-1]) else None
        if found is not None or paper is PAPERS[-1]:
            layout, left, bottom = found or (tried[0], paper.inside[0] + ROOM_MM, paper.inside[1] + ROOM_MM)
            return Sheet(ref=ref, name=name, number=number, paper=paper, layout=layout, left_mm=left, bottom_mm=bottom, is_box=is_box)
    raise AssertionError("there is a largest paper")


def _best_on(paper: Paper, tried: list[Layout]) -> tuple[Layout, float, float] | None:
    """Of the layouts that fit a paper the tidiest, and where it goes."""
    fitting = [(layout, *place) for layout in tried if (place := _place(paper, layout)) is not None]
    return min(fitting, key=lambda item: _untidy(item[0]), default=None)


def _untidy(layout: Layout) -> float:
    """How hard a sheet is to follow: crossings, and length of wire."""
    return 100.0 + 40.0 * layout.crossings + layout.wire_mm / 10.0


def _place(paper: Paper, layout: Layout) -> tuple[float, float] | None:
    """Where a layout goes on a paper, in the middle or at the left, clear of the title block; None where it does not fit."""
    left, bottom, right, top = paper.inside
    wide, high = right - left - 2 * ROOM_MM, top - bottom - ROOM_MM - HEAD_MM
    total = layout.width_mm + layout.overhang_mm
    if total > wide or layout.height_mm > high:
        return None
    y = top - HEAD_MM - layout.height_mm
    for x in (left + ROOM_MM + layout.overhang_mm + spare for spare in ((wide - total) / 2, 0.0)):
        block_left, block_top = right - BLOCK_WIDTH_MM - DOTS_MM - x, bottom + BLOCK_HEIGHT_MM + ROOM_MM - y
        if not any(low < block_top and far > block_left for low, far in _reach(layout)):
            return x, y
    return None


def _reach(layout: Layout) -> Iterator[tuple[float, float]]:
    """How low and how far to the right everything reaches, with the words below ground signs."""
    for box in layout.boxes:
        yield box.bottom - (5.0 if box.unit.kind == "ground" else 0.0), box.right + 8.0
    for wire in layout.wires:
        for one, other in itertools.pairwise(wire.corners):
            yield min(one[1], other[1]), max(one[0], other[0])


@dataclass(frozen=True, slots=True)
class CrossReferences:
    """Where else things are: by unit and by wire, the sheets and fields that show them, as `CAN/C4`."""

    units: Mapping[str, tuple[tuple[str, str], ...]]
    wires: Mapping[str, tuple[str, str]]

    def others(self, unit: str, here: str) -> tuple[str, ...]:
        """The other sheets that show a unit."""
        return tuple(f"{sheet}/{zone}" for sheet, zone in self.units[unit] if sheet != here)


def cross_references(sheets: tuple[Sheet, ...]) -> CrossReferences:
    """Of all sheets."""
    units: dict[str, list[tuple[str, str]]] = defaultdict(list)
    wires: dict[str, tuple[str, str]] = {}
    for sheet in sheets:
        for box in sheet.layout.boxes:
            units[box.unit.ref].append((sheet.ref, sheet.zone_of_unit(box.unit.ref)))
        for wire in () if sheet.is_box else sheet.layout.wires:
            x, y = wire.words_at[0]
            wires.setdefault(wire.line.ref, (sheet.ref, sheet.paper.zone_of(x + sheet.left_mm, y + sheet.bottom_mm)))
    return CrossReferences({ref: tuple(places) for ref, places in units.items()}, wires)

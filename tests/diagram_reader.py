"""Reads a wiring diagram back from its DXF as a person would: by where lines end and which words stand beside them."""

from __future__ import annotations

import io
import itertools
import math
from dataclasses import dataclass

import ezdxf

Place = tuple[float, float]
NEAR_MM = 0.05


@dataclass(frozen=True)
class Words:
    words: str
    at: Place
    angle_deg: float
    height_mm: float
    layer: str


@dataclass(frozen=True)
class Read:
    """What stands on a sheet."""

    wires: list[list[Place]]
    outlines: list[list[Place]]
    words: list[Words]
    lines: dict[str, list[tuple[Place, Place]]]

    def layer(self, name: str) -> list[Words]:
        return [item for item in self.words if item.layer == name]


def read(dxf: bytes) -> Read:
    space = ezdxf.read(io.StringIO(dxf.decode())).modelspace()
    wires, outlines, words, lines = [], [], [], {}
    for entity in space:
        layer, kind = entity.dxf.layer, entity.dxftype()
        if kind == "LWPOLYLINE":
            points = [(x, y) for x, y, *_ in entity.get_points()]
            if layer == "WIRE":
                wires.append(points)
            elif layer == "PART":
                outlines.append(points)
        elif kind == "TEXT":
            at = entity.get_placement()[1]
            words.append(Words(entity.dxf.text, (at.x, at.y), entity.dxf.rotation, entity.dxf.height, layer))
        elif kind == "LINE":
            start, end = entity.dxf.start, entity.dxf.end
            lines.setdefault(layer, []).append(((start.x, start.y), (end.x, end.y)))
    return Read(wires, outlines, words, lines)


def wires_of(sheet: Read) -> dict[str, tuple[str, str]]:
    """By the text beside each wire (`W131 BU-WH 0.5`), the two things that it ends at, as pins or splices."""
    found: dict[str, tuple[str, str]] = {}
    for points in sheet.wires:
        name = _text_beside(sheet, points)
        assert name not in found, f"two wires are called {name}"
        found[name] = (_end(sheet, points[0]), _end(sheet, points[-1]))
    return found


def _text_beside(sheet: Read, points: list[Place]) -> str:
    names = {
        text.words
        for text in sheet.layer("WIRE_REF")
        for (x1, y1), (x2, y2) in itertools.pairwise(points)
        if x1 == x2 and math.isclose(text.at[0] + 1.4, x1, abs_tol=NEAR_MM) and min(y1, y2) < text.at[1] < max(y1, y2)
    }
    assert len(names) == 1, f"a wire at {points[0]} has the texts {sorted(names)}"
    return names.pop()


def _end(sheet: Read, place: Place) -> str:
    """The pin or splice at a place."""
    splice = _reached(sheet, place, "SPLICE")
    if splice:
        return _nearest_ref(sheet, splice)
    cavity = [t.words for t in sheet.layer("PIN_REF") for up in (1.2, -3.8) if _same(t.at, (place[0] + 2.2, place[1] + up))]
    assert len(cavity) == 1, f"the end at {place} has the cavities {cavity}"
    for outline in sheet.outlines:
        xs, ys = [x for x, _ in outline], [y for _, y in outline]
        on_edge = min(xs) < place[0] < max(xs) and any(math.isclose(place[1], y, abs_tol=NEAR_MM) for y in (min(ys), max(ys)))
        if on_edge:
            inside = [t.words for t in sheet.layer("PART_REF") if min(xs) < t.at[0] < max(xs) and min(ys) < t.at[1] < max(ys)]
            assert len(inside) == 1, f"the part round {place} is called {inside}"
            return f"{inside[0]}.{cavity[0]}"
    ground = _reached(sheet, place, "LINK", also="SYMBOL")
    assert ground, f"nothing stands at {place}"
    return f"{_nearest_ref(sheet, ground)}.{cavity[0]}"


def _reached(sheet: Read, place: Place, layer: str, also: str | None = None) -> set[Place]:
    """All places that lines of a layer join to this one; T-joints count, since a line may end on another."""
    lines = [*sheet.lines.get(layer, ()), *(sheet.lines.get(also, ()) if also else ())]
    reached, grown = {place}, True
    while grown:
        grown = False
        for start, end in lines:
            touches = any(_on(point, start, end) for point in reached)
            if touches and not {start, end} <= reached:
                reached |= {start, end}
                grown = True
    return reached if len(reached) > 1 else set()


def _on(place: Place, start: Place, end: Place) -> bool:
    return math.isclose(math.dist(start, place) + math.dist(place, end), math.dist(start, end), abs_tol=1e-6)


def _nearest_ref(sheet: Read, places: set[Place]) -> str:
    return min((min(math.dist(text.at, place) for place in places), text.words) for text in sheet.layer("PART_REF"))[1]


def _same(one: Place, other: Place) -> bool:
    return math.isclose(one[0], other[0], abs_tol=NEAR_MM) and math.isclose(one[1], other[1], abs_tol=NEAR_MM)

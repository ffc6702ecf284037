"""What stands in a box and on what it stands, as tables: places from its inner corner, feet from its outer one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfshaft.drawings.dimensions import words_of
from halfshaft.drawings.shapes import Sketch, Style, shortened
from halfshaft.model.boxes import Box, Mount
from halfshaft.model.conversion import Conversion
from halfshaft.studies.arrangement.records import Block
from halfshaft.studies.device_blocks import SixFaces

ROW_MM, WORDS_MM, HEAD_MM, APART_MM, TITLE_WIDE_MM = 4.4, 2.5, 6.0, 5.0, 141.0
HEAVY, LIGHT = Style("FRAME", 0.5), Style("FRAME", 0.25)


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A title, the columns with their widths in millimetres, and rows of words."""

    title: str
    columns: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def height_mm(self) -> float:
        """How high it comes out, with its title."""
        return HEAD_MM + ROW_MM * (len(self.rows) + 1) + 1.0

    @property
    def width_mm(self) -> float:
        """How wide it comes out."""
        return sum(width for _, width in self.columns)


def inner_corner(box: Box) -> tuple[float, float, float]:
    """Front, left and floor of the room inside: from here everything in the box is measured."""
    return box.x_min_mm + box.wall_mm, box.y_min_mm + box.wall_mm, box.z_min_mm + box.wall_mm


def inside_of(box: Box) -> Block:
    """The room inside."""
    x, y, z = inner_corner(box)
    return Block(x, y, z, box.x_max_mm - box.wall_mm, box.y_max_mm - box.wall_mm, box.z_max_mm - box.wall_mm)


def tables_of(conversion: Conversion, box: Box) -> tuple[Table, ...]:
    """Modules, plates and feet; a table without rows is left out."""
    tables = (_modules(box), _plates(conversion, box), _feet(box))
    return tuple(table for table in tables if table.rows)


def _from_to(box: Box, thing: SixFaces) -> tuple[str, str, str]:
    """Where a thing begins and ends along x, y and z, from the inner corner."""
    x, y, z = inner_corner(box)
    ranges = ((thing.x_min_mm - x, thing.x_max_mm - x), (thing.y_min_mm - y, thing.y_max_mm - y), (thing.z_min_mm - z, thing.z_max_mm - z))
    first, second, third = (f"{words_of(low)} … {words_of(high)}" for low, high in ranges)
    return first, second, third


def _modules(box: Box) -> Table:
    rows = [
        (str(item.order_in_string), item.ref, item.plus_end or "?", item.cooled_face or "?", item.attitude or "?", *_from_to(box, item))
        for item in sorted(box.modules, key=lambda item: (item.string, item.order_in_string))
    ]
    types = ", ".join(dict.fromkeys(item.module for item in box.modules))
    columns = (
        ("No", 8.0),
        ("Ref", 15.0),
        ("Plus end", 17.0),
        ("Cooled", 16.0),
        ("Stands", 19.0),
        ("x from … to", 22.0),
        ("y", 22.0),
        ("z", 22.0),
    )
    return Table(title=f"Modules {types}, from the inner corner, mm", columns=columns, rows=tuple(rows))


def _plates(conversion: Conversion, box: Box) -> Table:
    rows = [(item.ref, conversion.part[item.part].name, item.between.replace(";", ", "), *_from_to(box, item)) for item in box.plates]
    columns = (("Ref", 13.0), ("What", 46.0), ("Between", 17.0), ("x from … to", 22.0), ("y", 22.0), ("z", 21.0))
    return Table(title="Coolant plates, from the inner corner, mm", columns=columns, rows=tuple(rows))


def _feet(box: Box) -> Table:
    """Where all feet are bolted to one thing, it stands in the title and not in every row."""
    places = {item.to for item in box.mounts}
    rows = [
        (item.ref, item.bolt, f"{words_of(item.torque_nm)} Nm", *_from_outside(box, item), *((item.to,) if len(places) > 1 else ()))
        for item in box.mounts
    ]
    columns = (("Foot", 16.0), ("Bolt", 18.0), ("Torque", 16.0), ("x", 12.0), ("y", 12.0), ("z", 12.0))
    title = "Feet, bolts from the outer corner, mm"
    if len(places) > 1:
        return Table(title=title, columns=(*columns, ("Bolted to", 55.0)), rows=tuple(rows))
    return Table(title="; ".join([title, *(f"on {place}" for place in places if place)]), columns=columns, rows=tuple(rows))


def _from_outside(box: Box, foot: Mount) -> tuple[str, str, str]:
    return words_of(foot.x_mm - box.x_min_mm), words_of(foot.y_mm - box.y_min_mm), words_of(foot.z_mm - box.z_min_mm)


def draw_tables(sketch: Sketch, tables: Sequence[Table], left: float, top: float) -> float:
    """One below the other; returns how far down they reach."""
    y = top
    for table in tables:
        sketch.text((left, y - 3.0), shortened(table.title, WORDS_MM, TITLE_WIDE_MM, bold=True), WORDS_MM, bold=True)
        y -= HEAD_MM - 1.5
        sketch.line((left, y), (left + table.width_mm, y), HEAVY)
        for index, row in enumerate((tuple(head for head, _ in table.columns), *table.rows)):
            y -= ROW_MM
            x = left
            for words, (_, width) in zip(row, table.columns, strict=True):
                sketch.text((x, y + 1.0), shortened(words, WORDS_MM, width - 1.0, bold=index == 0), WORDS_MM, bold=index == 0)
                x += width
            if index == 0:
                sketch.line((left, y), (left + table.width_mm, y), LIGHT)
        sketch.line((left, y - 0.3), (left + table.width_mm, y - 0.3), HEAVY)
        y -= APART_MM
    return y


def height_of(tables: Sequence[Table]) -> float:
    """Room that tables take one below the other."""
    return sum(table.height_mm + APART_MM for table in tables)

"""Meshes in a workbook: the lines of their OBJ, many to a cell, since nobody edits a surface in a spreadsheet."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from halfshaft.errors import Fault
from halfshaft.files.mesh_formats import MeshError, obj_lines, obj_soup
from halfshaft.files.meshes import mesh_values
from halfshaft.model.meshes import MM_PER_UNIT, Mesh
from halfshaft.model.references import nearest

SHAPE_SHEET = "meshes.surface"
SHAPE_COLUMNS = ("in_meshes", "lines")
# A cell of a workbook holds 32,767 characters.
_CELL_CHARACTERS = 32_000
MAX_CHARACTERS = 24_000_000


class TooLong(ValueError):
    """The sentence that says why a mesh does not go into a workbook."""


def shape_rows(meshes: Iterable[Mesh]) -> list[list[Any]]:
    """The rows of the sheet: lines of an OBJ with `;` between them, as many as go into a cell.

    Raises TooLong with a sentence.
    """
    rows: list[list[Any]] = []
    total = 0
    for mesh in meshes:
        cell: list[str] = []
        length = 0
        for line in obj_lines(mesh.corners, mesh.triangles):
            if length + len(line) + 1 > _CELL_CHARACTERS:
                rows.append([mesh.ref, ";".join(cell)])
                cell, length = [], 0
            cell.append(line)
            length += len(line) + 1
            total += len(line) + 1
        rows.append([mesh.ref, ";".join(cell)])
        if total > MAX_CHARACTERS:
            raise TooLong(
                f"mesh {mesh.ref} has {len(mesh.triangles):,} triangles, more than a workbook can carry: "
                "hand the folder on instead, or let the scanning program reduce the mesh to some 20,000"
            )
    return rows


def mesh_of_cells(raw: dict[str, Any], grid: Sequence[Sequence[str]], row: int) -> dict[str, Any] | list[Fault]:
    """The surface of a row of the sheet `meshes`, or what is wrong with it."""
    ref = raw.get("ref")
    if raw.get("unit") not in MM_PER_UNIT or not ref:
        return [Fault(file="sheet meshes", row=row, column="unit", message=f"{raw.get('unit', '')!r} is none of {', '.join(MM_PER_UNIT)}")]
    header = [cell.strip() for cell in grid[0]] if grid else []
    if not set(SHAPE_COLUMNS) <= set(header):
        return [Fault(file=f"sheet {SHAPE_SHEET}", row=1, message=f"wants the columns {' and '.join(SHAPE_COLUMNS)}")]
    owner, lines = (header.index(name) for name in SHAPE_COLUMNS)
    cells = [line[lines] for line in grid[1:] if len(line) > max(owner, lines) and line[owner].strip() == ref]
    if not cells:
        known = {line[owner].strip() for line in grid[1:] if len(line) > owner}
        return [
            Fault(
                file="sheet meshes", row=row, column="ref", message=f"no row of sheet {SHAPE_SHEET} holds its surface{nearest(ref, known)}"
            )
        ]
    try:
        return mesh_values(obj_soup(";".join(cells).split(";")), raw)
    except MeshError as error:
        return [Fault(file=f"sheet {SHAPE_SHEET}", column="lines", message=f"{ref} {error}")]


def of_no_mesh(grid: Sequence[Sequence[str]], refs: Collection[str]) -> list[Fault]:
    """Surfaces that no row of the sheet `meshes` speaks of."""
    header = [cell.strip() for cell in grid[0]] if grid else []
    if SHAPE_COLUMNS[0] not in header:
        return []
    column = header.index(SHAPE_COLUMNS[0])
    first: dict[str, int] = {}
    for row, line in enumerate(grid[1:], start=2):
        if any(cell.strip() for cell in line):
            first.setdefault(line[column].strip() if len(line) > column else "", row)
    return [
        Fault(file=f"sheet {SHAPE_SHEET}", row=row, column=SHAPE_COLUMNS[0], message=f"no {ref!r} in sheet meshes{nearest(ref, refs)}")
        for ref, row in first.items()
        if ref not in refs
    ]

"""Which file of the folder `meshes` belongs to which row of meshes.csv, and what it holds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from halfshaft.errors import Fault
from halfshaft.files.layout import MESHES_FOLDER
from halfshaft.files.mesh_formats import ENDINGS, MeshError, obj_lines, read_soup
from halfshaft.files.meshes import mesh_values
from halfshaft.model.meshes import Mesh
from halfshaft.model.references import nearest

_ENDINGS = f".{', .'.join(ENDINGS[:-1])} or .{ENDINGS[-1]}"


@dataclass(slots=True)
class MeshFiles:
    """The files of the folder by what they are named after, and those that a row speaks of."""

    by_ref: dict[str, list[str]] = field(default_factory=dict)
    strangers: tuple[str, ...] = ()
    asked: set[str] = field(default_factory=set)

    @classmethod
    def of(cls, names: Iterable[str]) -> MeshFiles:
        """Sorts the names of a folder: meshes, and what else lies there."""
        files = cls()
        for name in sorted(names):
            stem, _, ending = name.rpartition(".")
            if stem and not name.startswith(".") and ending.lower() in ENDINGS:
                files.by_ref.setdefault(stem, []).append(name)
            else:
                files.strangers += (name,)
        return files

    def file_of(self, ref: str, table: str, row: int) -> str | Fault:
        """The one file of a mesh, as a path inside the folder, or why there is not one."""
        names = self.by_ref.get(ref, [])
        if len(names) > 1:
            message = f"stands beside {', '.join(names[1:])}: a mesh has one file, so take the others away"
            return Fault(file=f"{MESHES_FOLDER}/{names[0]}", message=message)
        if names:
            return f"{MESHES_FOLDER}/{names[0]}"
        alike = [name for name in self.strangers if name.rpartition(".")[0] == ref]
        hint = f"; {alike[0]} is there, but is none of these" if alike else nearest(ref, self.by_ref)
        return Fault(file=table, row=row, column="ref", message=f"there is no {ref}{_ENDINGS} in {MESHES_FOLDER}{hint}")

    def read(self, path: Path, name: str, values: dict[str, Any]) -> dict[str, Any] | list[Fault]:
        """The surface in a file, or what is wrong with it."""
        try:
            return mesh_values(read_soup(path), values)
        except MeshError as error:
            return [Fault(file=name, message=str(error))]
        except OSError as error:
            return [Fault(file=name, message=f"cannot be read: {error.strerror}")]

    def without_row(self, has_table: bool) -> list[Fault]:
        """Files that no row speaks of: nobody knows their unit."""
        row = "no row of meshes.csv speaks of it" if has_table else "there is no meshes.csv to speak of it"
        return [
            Fault(file=f"{MESHES_FOLDER}/{names[0]}", message=f"{row}: add one with ref {ref} and its unit, or take the file away")
            for ref, names in self.by_ref.items()
            if ref not in self.asked
        ]


def mesh_text(mesh: Mesh) -> str:
    """The file of a mesh, always an OBJ."""
    return "\n".join(obj_lines(mesh.corners, mesh.triangles)) + "\n"

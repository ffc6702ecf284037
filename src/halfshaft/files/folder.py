"""A conversion as a folder of plain text, there and back: same value, same bytes."""

from __future__ import annotations

import csv
import io
import os
import tomllib
from collections.abc import Collection
from pathlib import Path as FilePath
from typing import Any

from halfshaft.errors import Fault, InputError
from halfshaft.files.cells import write_cell
from halfshaft.files.layout import (
    HEAD_FILE,
    HEAD_TABLES,
    MESHES_FOLDER,
    MESSAGES_FOLDER,
    PARTS_FOLDER,
    REQUIRED_FILES,
    TOML_TABLES,
    csv_tables,
    file_of,
    plain_fields,
    record_of,
    tables_of,
)
from halfshaft.files.mesh_files import MeshFiles, mesh_text
from halfshaft.files.message_files import ENDING, MessageFileError, fault_of, file_bytes, file_values
from halfshaft.files.records import Draft, Path, column_of, plain
from halfshaft.files.rows import Grid, grid_of, read_rows
from halfshaft.files.toml import is_deep, line_of, write_toml
from halfshaft.files.whole import write_whole
from halfshaft.model.conversion import Conversion
from halfshaft.model.references import KEYS, nearest

# Folders in which each row of a table is a file of its own, and how such a file's name ends.
FILE_EACH = ((PARTS_FOLDER, ".toml"), (MESSAGES_FOLDER, ENDING))
MAX_FILE_BYTES = 16_000_000
MAX_FILES = 5_000
TOML_HINT = "text wants quotation marks, a number a decimal point and no mark between thousands"


def read_folder(folder: FilePath) -> Conversion:
    """The conversion that a folder describes.

    Raises InputError with every fault that was found, each with file, row and column.
    """
    return FolderReader(FilePath(folder)).read()


class FolderReader:
    """Reads one folder, once; what differs in reading from elsewhere is `_data`."""

    def __init__(self, folder: FilePath) -> None:
        self.folder = folder
        self.draft = Draft()
        self.toml_text: dict[str, str] = {}
        self.meshes = MeshFiles()

    def read(self) -> Conversion:
        """The conversion. Raises InputError."""
        names = self._names()
        if HEAD_FILE not in names and not (set(REQUIRED_FILES) & set(names)):
            raise InputError([Fault(file=str(self.folder), message=f"holds no conversion: there is no {HEAD_FILE} in it")])
        for name in REQUIRED_FILES:
            if name not in names:
                self._fault(name, message="is missing; `halfshaft new --blank` shows what belongs in it")
                self.draft.lost.update(tables_of(name))
        self._read_files(names)
        if MESHES_FOLDER not in self.draft.lost:
            self.draft.faults += self.meshes.without_row(file_of(MESHES_FOLDER) in names)
        return self.draft.finish(self._place)

    def _read_files(self, names: Collection[str]) -> None:
        if HEAD_FILE in names:
            self._read_heads()
        for table in TOML_TABLES:
            if file_of(table) in names:
                self._read_toml_rows(table)
        for table in csv_tables():
            if file_of(table) in names:
                self._read_csv(table)
        for name in names:
            if name.startswith(f"{PARTS_FOLDER}/"):
                self._read_part(name)
            elif name.startswith(f"{MESSAGES_FOLDER}/"):
                self._read_messages(name)

    def _names(self) -> list[str]:
        """Files of the folder that are ours to read; strangers with our endings are faults, others are left alone."""
        known = {HEAD_FILE, *(file_of(table) for table in (*TOML_TABLES, *csv_tables()))}
        names: list[str] = []
        try:
            if not self.folder.is_dir():
                kind = "is a file, not a folder" if self.folder.exists() else "is not there"
                raise InputError([Fault(file=str(self.folder), message=f"{kind}; `halfshaft new FOLDER` makes one to start from")])
            found = sorted(entry.name for entry in os.scandir(self.folder))
            for inner, _ in FILE_EACH:
                path = self.folder / inner
                found += sorted(f"{inner}/{entry.name}" for entry in os.scandir(path)) if path.is_dir() else []
            meshes = self.folder / MESHES_FOLDER
            self.meshes = MeshFiles.of(entry.name for entry in os.scandir(meshes)) if meshes.is_dir() else self.meshes
        except OSError as error:
            raise InputError([Fault(file=str(self.folder), message=f"cannot be read: {error.strerror}")]) from None
        for name in found[:MAX_FILES]:
            if name.startswith((".", f"{PARTS_FOLDER}/.", f"{MESSAGES_FOLDER}/.")):
                continue
            if name in known or any(name.startswith(f"{inner}/") and name.endswith(ending) for inner, ending in FILE_EACH):
                names.append(name)
            elif name.endswith((".csv", ".toml")) or name.lower().endswith(ENDING):
                shown = name.encode(errors="replace").decode()  # a disk allows names that are no text
                hint = (
                    nearest(shown, known)
                    if name.endswith((".csv", ".toml"))
                    else f"; messages of a bus stand in {MESSAGES_FOLDER}/BUS{ENDING}"
                )
                self._fault(shown, message=f"no file of a conversion is called so{hint}")
        if len(found) > MAX_FILES:
            self._fault(PARTS_FOLDER, message=f"more than {MAX_FILES} files; is this the right folder?")
        return names

    def _fault(self, file: str, *, message: str, row: int | None = None, column: str | None = None) -> None:
        self.draft.faults.append(Fault(file=file, row=row, column=column, message=message))

    def _text(self, name: str) -> str | None:
        """The text of a file, or None and a fault."""
        data = self._data(name)
        text = None if data is None else decoded(data, name)
        if isinstance(text, Fault):
            self.draft.faults.append(text)
            return None
        return text

    def _data(self, name: str) -> bytes | None:
        """The bytes of a file, or None and a fault. A link that leads out of the folder is not followed."""
        path = self._path(name)
        if path is None:
            return None
        try:
            size = path.stat().st_size
            if size > MAX_FILE_BYTES:
                self._fault(name, message=f"is {size / 1e6:.0f} MB; no table of a conversion is over {MAX_FILE_BYTES / 1e6:.0f} MB")
                return None
            return path.read_bytes()
        except OSError as error:
            self._fault(name, message=f"cannot be read: {error.strerror}")
            return None

    def _path(self, name: str) -> FilePath | None:
        """Where a file of the folder is, or None and a fault."""
        path = self.folder / name
        try:
            if not path.resolve().is_relative_to(self.folder.resolve()):
                self._fault(name, message="leads out of the folder, so it is not read; put the file itself here")
            elif not path.is_file():
                self._fault(name, message="is not a file")
            else:
                return path
        except OSError as error:
            self._fault(name, message=f"cannot be read: {error.strerror}")
        except RuntimeError:  # so pathlib says it, up to Python 3.12
            self._fault(name, message="is a link that leads back to itself; put the file itself here")
        return None

    def _toml(self, name: str) -> dict[str, Any] | None:
        """The values of a file, or None and a fault."""
        text = self._text(name)
        if text is None:
            return None
        self.toml_text[name] = text
        try:
            values = tomllib.loads(text)
            if not is_deep(values):
                return values
            self._fault(name, message="holds tables inside one another, deeper than anything of a conversion")
        except tomllib.TOMLDecodeError as error:
            words = str(error)
            at = words.rpartition("(at line ")[2].split(",")[0]
            self._fault(name, row=int(at) if at.isdigit() else None, message=f"is no TOML: {words.split(' (at')[0].lower()}; {TOML_HINT}")
        except (RecursionError, ValueError):
            self._fault(name, message="is no TOML that can be read")
        return None

    def _read_heads(self) -> None:
        values = self._toml(HEAD_FILE)
        if values is None:
            self.draft.lost.update(HEAD_TABLES)
            return
        for name in values:
            if name not in HEAD_TABLES:
                self._fault(
                    HEAD_FILE,
                    column=name,
                    row=line_of(self.toml_text.get(HEAD_FILE, ""), (name,)),
                    message=f"unknown name{nearest(name, HEAD_TABLES)}",
                )
        for name in HEAD_TABLES:
            if name in values:
                self.draft.add_head(name, values[name], self._place)

    def _read_toml_rows(self, table: str) -> None:
        name = file_of(table)
        values = self._toml(name)
        if values is None:
            self.draft.lost.add(table)
            return
        for key in values:
            if key != table:
                row = line_of(self.toml_text[name], (key,))
                self._fault(name, row=row, column=key, message=f"unknown name; this file holds only [[{table}]]")
        if values and table not in values:  # an empty file holds no rows; one with another name holds rows that nobody can know
            self.draft.lost.add(table)
        items = values.get(table, [])
        if not isinstance(items, list):
            row = line_of(self.toml_text[name], (table,))
            self._fault(name, row=row, column=table, message=f"write [[{table}]] with two brackets: there may be several")
            self.draft.lost.add(table)
            return
        for index, item in enumerate(items):
            self._add_toml(table, item, (name, (table, index)), (table, index))

    def _read_part(self, name: str) -> None:
        values = self._toml(name)
        stem = name.removeprefix(f"{PARTS_FOLDER}/").removesuffix(".toml")
        if values is None or values.get("ref") != stem:
            # Whatever the file says of itself, who refers to the part after which it is named is not at fault.
            self.draft.add(PARTS_FOLDER, None, {"ref": stem}, (name, ()))
        if values is None:
            return
        if values.get("ref") != stem and isinstance(values.get("ref"), str):
            row = line_of(self.toml_text[name], ("ref",))
            message = (
                f"this file must hold part {stem!r}, after which it is named, but holds {values['ref']!r}: name the file after the part"
            )
            self._fault(name, row=row, column="ref", message=message)
            self.draft.spoilt.add((name, row, "ref"))
        known_as = values["ref"] if isinstance(values.get("ref"), str) else stem
        self._add_toml(PARTS_FOLDER, values, (name, ()), (PARTS_FOLDER, len(self.draft.rows.get(PARTS_FOLDER, ()))), {"ref": known_as})

    def _read_messages(self, name: str) -> None:
        data = self._data(name)
        values: dict[str, Any] = {"bus": name.removeprefix(f"{MESSAGES_FOLDER}/")[: -len(ENDING)]}
        record = None
        try:
            if data is not None:
                record = self.draft.build(
                    record_of(MESSAGES_FOLDER), values | file_values(data), lambda _: Fault(file=name, message=""), (MESSAGES_FOLDER,)
                )
        except MessageFileError as error:
            self.draft.faults.append(fault_of(error, name))
        self.draft.add(MESSAGES_FOLDER, record, values, (name, ()))

    def _add_toml(self, table: str, item: Any, origin: tuple[str, Path], path: Path, raw: dict[str, Any] | None = None) -> None:
        def place(at: Path) -> Fault:
            inside = at[len(path) :]
            file, start = origin
            return Fault(file=file, row=line_of(self.toml_text.get(file, ""), (*start, *inside)), column=column_of(inside), message="")

        record = self.draft.build(record_of(table), item, place, path)
        self.draft.add(table, record, raw or (item if isinstance(item, dict) else {}), origin)

    def _read_csv(self, table: str) -> None:
        name = file_of(table)
        text = self._text(name)
        if text is None:
            self.draft.lost.add(table)
            return
        record = record_of(table)
        try:
            grid, faults = csv_grid(text, name, plain_fields(record))
        except csv.Error as error:
            self._fault(name, message=f"is no table of comma separated values: {error}")
            self.draft.lost.add(table)
            return
        if not set(KEYS.get(table, ("ref",))) <= set(grid.columns):
            self.draft.lost.add(table)
        rows, more = read_rows(grid, record, self._mesh if table == MESHES_FOLDER else None)
        self.draft.faults += faults + more
        if table == MESHES_FOLDER:
            self.meshes.asked.update(str(row.raw.get("ref")) for row in rows)
        for row in rows:
            self.draft.add(table, row.record, row.raw, (name, row.row))

    def _mesh(self, row: int, values: dict[str, Any]) -> dict[str, Any] | list[Fault]:
        """The surface that a row of meshes.csv speaks of, or what is wrong with its file."""
        name = self.meshes.file_of(values["ref"], file_of(MESHES_FOLDER), row)
        if isinstance(name, Fault):
            return [name]
        before = len(self.draft.faults)
        path = self._path(name)
        if path is not None:
            return self.meshes.read(path, name, values)
        faults, self.draft.faults[before:] = self.draft.faults[before:], []
        return faults

    def _place(self, path: Path) -> Fault:
        """Where the value at a path of the model stands in the folder."""
        table = str(path[0])
        if table in HEAD_TABLES:
            return Fault(file=HEAD_FILE, row=line_of(self.toml_text.get(HEAD_FILE, ""), path), column=column_of(path), message="")
        origins = self.draft.origins.get(table, [])
        if len(path) < 2 or not isinstance(path[1], int) or path[1] >= len(origins):
            return Fault(file=file_of(table), column=column_of(path[1:]), message="")
        file, where = origins[path[1]]
        if isinstance(where, int):
            return Fault(file=file, row=where, column=column_of(path[2:]), message="")
        inside = path[2:]
        return Fault(file=file, row=line_of(self.toml_text.get(file, ""), (*where, *inside)), column=column_of(inside), message="")


def decoded(data: bytes, name: str) -> str | Fault:
    """The text of a file, or what is wrong with it."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        return Fault(file=name, row=row, message="is not UTF-8 text; save it again as `CSV UTF-8` or plain UTF-8")
    if "\x00" in text:
        return Fault(file=name, row=text[: text.index("\x00")].count("\n") + 1, message="holds bytes that are no text")
    return text


def csv_grid(text: str, name: str, columns: tuple[str, ...]) -> tuple[Grid, list[Fault]]:
    """A CSV as spreadsheets save it: the separator is the one under which most column names are known."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    header = text.split("\n", 1)[0]

    def known(separator: str) -> int:
        cells = next(csv.reader([header], delimiter=separator), [])
        return sum(cell.strip() in columns for cell in cells)

    separator = max((",", ";", "\t"), key=known)
    lines: list[list[str]] = []
    numbers: list[int] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    before = 0
    for cells in reader:
        lines.append(cells)
        numbers.append(before + 1)
        before = reader.line_num
    # A quoted cell may hold a line end, so the running number of a record is not always its line in the file.
    grid, faults = grid_of(lines, file=name, numbers=numbers)
    grid.decimal_comma = separator != ","
    return grid, faults


def folder_files(conversion: Conversion, tables: Collection[str] | None = None) -> dict[str, bytes]:
    """Every file of the canonical folder, by its path in it. Tables with nothing in them are left out, save the required.

    With `tables`, only the files in which these stand.
    """
    wanted = set(type(conversion).model_fields if tables is None else tables)
    files: dict[str, bytes] = {}
    if wanted.intersection(HEAD_TABLES):
        files[HEAD_FILE] = write_toml({name: plain(getattr(conversion, name)) for name in HEAD_TABLES}).encode()
    for table in wanted.intersection(TOML_TABLES):
        rows = getattr(conversion, table)
        if rows:
            files[file_of(table)] = write_toml({table: [plain(row) for row in rows]}).encode()
    for table in wanted.intersection(csv_tables()):
        rows = getattr(conversion, table)
        if rows or file_of(table) in REQUIRED_FILES:
            files[file_of(table)] = _csv_text(table, rows).encode()
    for part in conversion.parts if PARTS_FOLDER in wanted else ():
        files[f"{PARTS_FOLDER}/{part.ref}.toml"] = _part_text(plain(part)).encode()
    for messages in conversion.messages if MESSAGES_FOLDER in wanted else ():
        files[f"{MESSAGES_FOLDER}/{messages.bus}{ENDING}"] = file_bytes(messages)
    for mesh in conversion.meshes if MESHES_FOLDER in wanted else ():
        files[f"{MESHES_FOLDER}/{mesh.ref}.obj"] = mesh_text(mesh).encode()
    return dict(sorted(files.items()))


def _csv_text(table: str, rows: tuple[Any, ...]) -> str:
    fields = plain_fields(record_of(table))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(fields)
    writer.writerows([write_cell(getattr(row, name)) for name in fields] for row in rows)
    return out.getvalue()


def _part_text(values: dict[str, Any]) -> str:
    """A part's own values first, then its connectors and what is inside it."""
    text = write_toml({"part": values})
    return text.removeprefix("[part]\n").replace("[[part.", "[[").replace("[part.", "[")


def write_folder(conversion: Conversion, folder: FilePath) -> None:
    """Write a conversion into a folder that is not there yet, whole or not at all.

    Raises OutputError where something stands there already or the disk refuses.
    """
    write_whole(folder_files(conversion), FilePath(folder))

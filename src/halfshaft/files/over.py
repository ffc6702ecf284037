"""Some files read over a conversion that is known: as the whole folder with those files would read, without reading the rest of it again."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from halfshaft.errors import Fault
from halfshaft.files.folder import MAX_FILE_BYTES, FolderReader, folder_files
from halfshaft.files.layout import HEAD_TABLES, MESHES_FOLDER, MESSAGES_FOLDER, PARTS_FOLDER, file_of, row_tables, tables_of
from halfshaft.files.message_files import ENDING
from halfshaft.files.records import Path as Steps
from halfshaft.model.conversion import Conversion


def may_be_read_over(name: str) -> bool:
    """Whether a file can be read without others beside it: all but the meshes."""
    return MESHES_FOLDER not in tables_of(name)


def read_over(base: Conversion, files: Mapping[str, bytes]) -> Conversion:
    """The conversion in the folder of `base` with these files in place of its own.

    Raises InputError with every fault; its rows are those of the files as they are written.
    """
    return _OverReader(base, files).read()


class _OverReader(FolderReader):
    def __init__(self, base: Conversion, files: Mapping[str, bytes]) -> None:
        super().__init__(Path())
        self.base = base
        self.files = files

    def read(self) -> Conversion:
        names = sorted(self.files)
        theirs = {table for name in names if "/" not in name for table in tables_of(name)}
        for table in row_tables():
            if table not in theirs:
                self._take(table)
        if not theirs.intersection(HEAD_TABLES):
            self.draft.heads.update({table: getattr(self.base, table) for table in HEAD_TABLES})
        self._read_files(names)
        return self.draft.finish(self._place)

    def _take(self, table: str) -> None:
        """The rows of a table that is not read again, each with its place in the file in which it stands."""
        file = file_of(table)
        for index, record in enumerate(getattr(self.base, table)):
            origin: tuple[str, Any] = (file, index + 2 if file.endswith(".csv") else (table, index))
            if table == PARTS_FOLDER:
                origin = (f"{PARTS_FOLDER}/{record.ref}.toml", ())
            elif table == MESSAGES_FOLDER:
                origin = (f"{MESSAGES_FOLDER}/{record.bus}{ENDING}", ())
            if origin[0] not in self.files:
                self.draft.add(table, record, {}, origin)

    def _place(self, path: Steps) -> Fault:
        """Where a value stands; the text of a file that was not read is only written out where a fault is in it."""
        table = str(path[0])
        origins = self.draft.origins.get(table, [])
        index = path[1] if len(path) > 1 and isinstance(path[1], int) else None
        file = file_of(table) if index is None or index >= len(origins) else origins[index][0]
        if file.endswith(".toml") and file not in self.toml_text:
            self.toml_text[file] = folder_files(self.base, tables_of(file)).get(file, b"").decode()
        return super()._place(path)

    def _data(self, name: str) -> bytes | None:
        data = self.files[name]
        if len(data) <= MAX_FILE_BYTES:
            return data
        self.draft.faults.append(Fault(file=name, message=f"is over {MAX_FILE_BYTES / 1e6:.0f} MB"))
        return None

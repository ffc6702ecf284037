"""A workbook is an archive of XML. Before a reader opens it, make sure that it cannot fill the memory or hide a fault."""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from dataclasses import dataclass, field
from xml.parsers import expat

MAX_UNPACKED_BYTES = 256_000_000
MAX_ENTRIES = 2_000
# A reader lays a sheet out as a grid from its first cell to its last, so one stray cell in the last row takes gigabytes.
MAX_CELLS = 2_000_000
_PLACE = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")


class ArchiveError(ValueError):
    """The sentence that says why an archive is not opened."""


@dataclass(frozen=True, kw_only=True, slots=True)
class BadCell:
    """A cell that a reader would take for a blank one, though it is not."""

    sheet: str
    row: int
    column: int
    message: str


def safe_copy(data: bytes) -> tuple[bytes, list[BadCell]]:
    """The archive with nothing in it but the XML that was counted here, so that what was counted is what is read.

    Raises ArchiveError with a sentence.
    """
    copy = io.BytesIO()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive, zipfile.ZipFile(copy, "w") as out:
            entries = {entry.filename: entry for entry in archive.infolist()}
            if sum(entry.file_size for entry in entries.values()) > MAX_UNPACKED_BYTES or len(entries) > MAX_ENTRIES:
                raise ArchiveError("would unpack to far more than a workbook of a conversion can hold; it is not opened")
            sound: dict[str, _Xml] = {}
            for name, entry in entries.items():
                text = _unpacked(archive, entry)
                xml = _Xml()
                if xml.read(text):
                    sound[name] = xml
                    out.writestr(name, text)
    except ArchiveError:
        raise
    except Exception:  # a damaged archive fails in a dozen ways, and each unpacker has errors of its own
        raise ArchiveError("is no .xlsx workbook") from None
    names = _sheet_names(sound)
    for entry_name, xml in sound.items():
        if xml.rows * xml.columns > MAX_CELLS:
            where = f"row {xml.rows}, column {xml.columns}"
            raise ArchiveError(f"sheet {names.get(entry_name, entry_name)} reaches to {where}; delete the cells that stand far outside")
    bad = [
        BadCell(sheet=names[entry_name], row=row, column=column, message=message)
        for entry_name, xml in sound.items()
        if entry_name in names
        for row, column, message in xml.bad
    ]
    return copy.getvalue(), bad


def _unpacked(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> bytes:
    """What is in an entry: never more than it says. Piece by piece, as in one go it is unpacked whole before it is cut."""
    with archive.open(entry) as stream:
        return b"".join(iter(lambda: stream.read(1 << 20), b""))


def _sheet_names(entries: dict[str, _Xml]) -> dict[str, str]:
    """The name that each sheet has in the workbook, by its entry in the archive."""
    book, links = entries.get("xl/workbook.xml"), entries.get("xl/_rels/workbook.xml.rels")
    if book is None or links is None:
        return {}
    return {posixpath.join("/xl", links.targets[key])[1:]: name for key, name in book.sheets.items() if key in links.targets}


@dataclass(slots=True)
class _Xml:
    """What has to be known of one entry: how far its cells reach, which of them are bad, and what it says of sheets."""

    rows: int = 0
    columns: int = 0
    bad: list[tuple[int, int, str]] = field(default_factory=list)
    sheets: dict[str, str] = field(default_factory=dict)
    targets: dict[str, str] = field(default_factory=dict)
    _row: int = 0
    _column: int = 0
    _cell: dict[str, str] | None = None
    _inside: str = ""

    def read(self, text: bytes) -> bool:
        """Whether this is XML at all; what is not is of no use to a reader."""
        parser = expat.ParserCreate()
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._characters
        parser.StartDoctypeDeclHandler = _refuse
        try:
            parser.Parse(text, True)
        except (expat.ExpatError, LookupError, ValueError):
            return False
        return True

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        tag = self._inside = tag.rpartition(":")[2]
        if max(int(attributes.get(name, 0)) for name in ("count", "uniqueCount")) > MAX_CELLS:
            raise ValueError("a reader takes memory for as many strings as a sheet says it has, before it has seen one")
        if self._cell is not None:
            # A cell with nothing inside has only a colour, and no reader lays it out.
            self.rows, self.columns = max(self.rows, self._row), max(self.columns, self._column)
            self._cell.setdefault(tag, "")
        elif tag == "c":
            self._cell = {"type": attributes.get("t", "")}
            self._column += 1
            if "r" in attributes:
                self._row, self._column = _row_and_column(attributes["r"])
        elif tag == "row":
            self._row, self._column = int(attributes.get("r", self._row + 1)), 0
        elif tag == "sheet":
            keys = [value for name, value in attributes.items() if name.rpartition(":")[2] == "id"]
            self.sheets.update({key: attributes.get("name", "") for key in keys})
        elif tag == "Relationship":
            self.targets[attributes["Id"]] = attributes["Target"]

    def _characters(self, text: str) -> None:
        if self._cell is not None and self._inside in self._cell:
            self._cell[self._inside] += text

    def _end(self, tag: str) -> None:
        self._inside = ""
        if self._cell is None or tag.rpartition(":")[2] != "c":
            return
        cell, self._cell = self._cell, None
        if cell["type"] == "e":
            self.bad.append((self._row, self._column, f"the spreadsheet shows {cell.get('v', '')!r} here; put that right"))
        elif "f" in cell and not cell.get("v") and cell["type"] != "str":
            self.bad.append((self._row, self._column, "is a formula without a result; save the workbook in a spreadsheet first"))


def _refuse(*_: object) -> None:
    """Of a document type a workbook has no need, and bombs are made of them."""
    raise ValueError("a workbook's XML has no document type")


def _row_and_column(place: str) -> tuple[int, int]:
    found = _PLACE.fullmatch(place)
    if not found:
        raise ValueError(f"{place!r} is no place in a sheet")
    column = 0
    for letter in found[1]:
        column = 26 * column + ord(letter) - ord("A") + 1
    return int(found[2]), column

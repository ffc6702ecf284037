"""Message files of buses: `messages/BUS.dbc`, read by cantools and kept as they stand; in a workbook, line by line."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from halfshaft.errors import Fault
from halfshaft.files.layout import MESSAGES_FOLDER
from halfshaft.model.electrics import MessageFile
from halfshaft.model.references import nearest

ENDING = ".dbc"
MAX_MESSAGE_FILE_BYTES = 4_000_000
LINES_SHEET = f"{MESSAGES_FOLDER}.lines"
LINES_COLUMNS = (f"in_{MESSAGES_FOLDER}", "line")
# A cell of a workbook holds 32,767 characters.
_CELL_CHARACTERS = 32_000
# What no text of such a file holds: control characters but for tabs and line ends, and what a workbook cannot carry.
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_AT = re.compile(r"at line (\d+), column (\d+): (.*)", re.DOTALL)
# The library marks the place with these; a person sees the line itself.
_HERE = ">>!<<"
# Who sends a message of which the file names no sender.
_NOBODY = "Vector__XXX"


class MessageFileError(ValueError):
    """The sentence that says what is wrong with a message file, and the row where it is."""

    def __init__(self, message: str, row: int | None = None) -> None:
        super().__init__(message)
        self.row = row


def file_values(data: bytes) -> dict[str, Any]:
    """A message file as the fields of its record, but for the bus.

    Raises MessageFileError.
    """
    if len(data) > MAX_MESSAGE_FILE_BYTES:
        raise MessageFileError(f"is {len(data) / 1e6:.0f} MB; no message file of one bus is over {MAX_MESSAGE_FILE_BYTES / 1e6:.0f} MB")
    try:
        encoding, text = "utf-8", data.decode("utf-8")
    except UnicodeDecodeError:  # most programs that write such files keep to the letters of their own country
        encoding, text = "latin-1", data.decode("latin-1")
    return {"encoding": encoding, **text_values(text)}


def text_values(text: str) -> dict[str, Any]:
    """The text of a message file, with the units and messages that it names.

    Raises MessageFileError.
    """
    bad = _NO_TEXT.search(text)
    if bad:
        raise MessageFileError("holds bytes that are no text; save the file again as plain text", text[: bad.start()].count("\n") + 1)
    import textparser
    from cantools.database.can.formats import dbc
    from cantools.errors import Error

    try:
        found = dbc.load_string(text.removeprefix("\ufeff"), strict=False)
    except textparser.ParseError as error:
        raise _unreadable(text, str(error)) from None
    except Error as error:
        raise _refused(text, str(error)) from None
    except Exception:  # what a damaged file makes of the library's insides is no sentence for a workshop
        raise MessageFileError("cannot be read as a .dbc; open it in a program for message files and save it again") from None
    return {
        "text": text,
        "nodes": tuple(node.name for node in found.nodes),
        "messages": tuple(
            {
                "name": message.name,
                "frame_id": message.frame_id,
                "is_extended": message.is_extended_frame,
                "length_bytes": message.length,
                "senders": tuple(sender for sender in message.senders if sender != _NOBODY),
                # Nought is how such a file says that a message has no cycle.
                "cycle_ms": float(message.cycle_time) if message.cycle_time and message.cycle_time > 0 else None,
            }
            for message in found.messages
        ),
    }


def _unreadable(text: str, words: str) -> MessageFileError:
    found = _AT.search(words)
    if not found:
        return MessageFileError("is no .dbc; put the message file of this bus here, or take this one away")
    row, column, line = int(found[1]), int(found[2]), found[3].strip().strip('"')
    after = line.partition(_HERE)[2].strip()
    if not text.strip():
        return MessageFileError("is empty; put the message file of this bus here, or take this one away")
    at = repr(after[:30]) if after else "the end of the line"
    return MessageFileError(
        f"cannot be read from column {column} on, at {at}: put this line right, or the end of the one before it, or export the file again",
        row,
    )


def _refused(text: str, words: str) -> MessageFileError:
    """What the library will not take, such as a number of twelve bits; most of its sentences end in the message's name."""
    name = words.rstrip(".").rpartition("in message ")[2]
    pattern = re.compile(rf"^[ \t]*BO_\s+\d+\s+{re.escape(name)}\b", re.MULTILINE)
    found = pattern.search(text)
    row = text[: found.start()].count("\n") + 1 if found else None
    return MessageFileError(f"{words.rstrip('.')}: put that right in the program that wrote this file, and export it again", row)


def fault_of(error: MessageFileError, name: str) -> Fault:
    """It as a fault of a file or sheet."""
    return Fault(file=name, row=error.row, message=str(error))


def file_bytes(file: MessageFile) -> bytes:
    """The file as it stood."""
    return file.text.encode(file.encoding)


class TooLong(ValueError):
    """The sentence that says why a message file does not go into a workbook."""


def line_rows(files: Iterable[MessageFile]) -> list[list[Any]]:
    """The rows of the sheet: each line of each file.

    Raises TooLong with a sentence.
    """
    rows: list[list[Any]] = []
    for file in files:
        lines = file.text.split("\n")
        if max(map(len, lines)) > _CELL_CHARACTERS:
            raise TooLong(f"messages of {file.bus} have a line longer than a cell of a workbook: hand the folder on instead")
        rows += [[file.bus, line] for line in lines]
    return rows


def values_of_lines(raw: dict[str, Any], grid: Sequence[Sequence[str]], row: int) -> dict[str, Any] | Fault:
    """What stands in the lines of one bus, or what is wrong with them."""
    bus = raw.get("bus")
    header = [cell.strip() for cell in grid[0]] if grid else []
    if not set(LINES_COLUMNS) <= set(header):
        return Fault(file=f"sheet {LINES_SHEET}", row=1, message=f"wants the columns {' and '.join(LINES_COLUMNS)}")
    owner, line = (header.index(name) for name in LINES_COLUMNS)
    found = [(at, cells[line] if len(cells) > line else "") for at, cells in _owned(grid, owner) if cells[owner].strip() == bus]
    if not found:
        known = {cells[owner].strip() for _, cells in _owned(grid, owner)}
        message = f"no row of sheet {LINES_SHEET} holds its lines{nearest(str(bus), known)}"
        return Fault(file=f"sheet {MESSAGES_FOLDER}", row=row, column="bus", message=message)
    text = "\n".join(words for _, words in found)
    try:
        return file_values(text.encode(str(raw.get("encoding"))))
    except MessageFileError as error:
        at = found[min(error.row, len(found)) - 1][0] if error.row else None
        return Fault(file=f"sheet {LINES_SHEET}", row=at, column="line", message=str(error))
    except (LookupError, UnicodeEncodeError):
        message = f"{raw.get('encoding')!r} cannot hold the letters of its lines: write utf-8"
        return Fault(file=f"sheet {MESSAGES_FOLDER}", row=row, column="encoding", message=message)


def of_no_bus(grid: Sequence[Sequence[str]], buses: Collection[str]) -> list[Fault]:
    """Lines that no row of the sheet `messages` speaks of."""
    header = [cell.strip() for cell in grid[0]] if grid else []
    if LINES_COLUMNS[0] not in header:
        return []
    owner = header.index(LINES_COLUMNS[0])
    first: dict[str, int] = {}
    for row, cells in _owned(grid, owner):
        first.setdefault(cells[owner].strip(), row)
    return [
        Fault(
            file=f"sheet {LINES_SHEET}",
            row=row,
            column=LINES_COLUMNS[0],
            message=f"no {bus!r} in sheet {MESSAGES_FOLDER}{nearest(bus, buses)}",
        )
        for bus, row in first.items()
        if bus not in buses
    ]


def _owned(grid: Sequence[Sequence[str]], owner: int) -> Iterator[tuple[int, Sequence[str]]]:
    """Rows that hold anything, by their number in the sheet."""
    for row, cells in enumerate(grid[1:], start=2):
        if len(cells) > owner and any(cell.strip() for cell in cells):
            yield row, cells

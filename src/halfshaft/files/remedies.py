"""What to write instead: from the sentence on a cell that cannot be read to the nearest value that can, where the sentence names one."""

from __future__ import annotations

import re

from halfshaft.files.cells import write_number
from halfshaft.standards import colours

_MEANT = re.compile(r"did you mean '([^']+)'")
_NO_CONNECTOR = re.compile(r"device (\S+) has no connector '([^']+)'")
_QUOTED = re.compile(r"'([^']+)'")
_COLOUR = re.compile(r"; \w+ is ([A-Z]{2})$")
_UNIT = re.compile(r"leave out '([^']+)', the unit")
_BOUND = re.compile(r"it must be at (?:least|most) (\S+)$")
_SECTIONS = re.compile(r"no wire of (\S+) mm2 in wire_types.csv; there are ([\d., ]+)")


def remedy(message: str, typed: str) -> str:
    """The whole text to put into the cell; blank where the sentence offers nothing.

    >>> remedy("no pin 'VC1.A.21'; did you mean 'VC1.A.12'?", "VC1.A.21")
    'VC1.A.12'
    >>> remedy("'0,5' is no number: write a decimal point, or separate the columns with `;`", "0,5")
    '0.5'
    """
    meant = _MEANT.search(message)
    if meant:
        return _in_place(message, typed, meant[1])
    if found := _COLOUR.search(message) or _BOUND.search(message):
        return found[1]
    if found := _UNIT.search(message):
        return typed.replace(found[1], "").strip()
    if "is no colour" in message and set(typed.upper().split("-")) <= set(colours()):
        return typed.upper()
    if "write a decimal point" in message:
        return typed.replace(",", ".")
    if found := _SECTIONS.search(message):
        return _nearest_number(found[1], found[2])
    return ""


def _in_place(message: str, typed: str, meant: str) -> str:
    """What was meant put where the faulty piece stands: one name of a list, the device of a pin."""
    connector = _NO_CONNECTOR.search(message)
    if connector:
        return typed.replace(f"{connector[1]}.{connector[2]}", meant, 1)
    faulty = _QUOTED.search(message)
    if faulty and faulty[1] in typed:
        return typed.replace(faulty[1], meant, 1)
    return meant


def _nearest_number(wanted: str, offered: str) -> str:
    try:
        number = float(wanted)
        return write_number(min(map(float, offered.split(", ")), key=lambda item: abs(item - number)))
    except ValueError:
        return ""

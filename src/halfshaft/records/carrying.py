"""A conversion brought in from what somebody sends, and carried out again. Sizes are bounded; nothing that is sent names a place on the disk."""

from __future__ import annotations

from pathlib import Path

from halfshaft.model.conversion import Conversion


def from_folder(folder: Path) -> Conversion:
    """The conversion in a folder of this machine. Raises InputError."""
    raise NotImplementedError


def from_zip(data: bytes) -> Conversion:
    """The conversion in a zip of a folder, whether the folder itself or its files are at its top. Raises InputError."""
    raise NotImplementedError


def from_workbook(data: bytes) -> Conversion:
    """The conversion in a workbook. Raises InputError."""
    raise NotImplementedError


def from_files(files: dict[str, bytes]) -> Conversion:
    """The conversion in the files of a folder, by name. Raises InputError."""
    raise NotImplementedError


def to_zip(conversion: Conversion) -> bytes:
    """Its folder as a zip, under a folder named after the job's ref; the same bytes for the same conversion."""
    raise NotImplementedError


def to_workbook(conversion: Conversion) -> bytes:
    """Its workbook; the same bytes for the same conversion."""
    raise NotImplementedError

"""The one small family of errors that a user can meet. Each of them is a sentence, never a traceback."""

from __future__ import annotations

from dataclasses import dataclass


class HalfshaftError(Exception):
    """Anything that a person can put right; its text is shown as it is."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """One thing in the input that cannot be read, and where it stands."""

    file: str
    message: str
    row: int | None = None
    column: str | None = None

    def __str__(self) -> str:
        place = self.file
        if self.row is not None:
            place += f", row {self.row}"
        if self.column is not None:
            place += f", column {self.column}"
        return f"{place}: {self.message}"


class InputError(HalfshaftError):
    """The input cannot be read; holds every fault that was found, not only the first."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        count = f"{len(self.faults)} faults; nothing was read" if len(self.faults) > 1 else ""
        super().__init__("\n".join([*map(str, self.faults), *([count] if count else [])]))


class OutputError(HalfshaftError):
    """Something could not be written; what stood there before still stands."""

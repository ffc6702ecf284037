"""Lines of the commissioning sheet: a reading, and by what each thing on its way would change it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from halfshaft.model.finding import Basis
from halfshaft.model.reading import Quantity, Reading

# The name under which the sheet stands beside those of the looms.
SHEET = "electrics"
StageKey = Literal["dead", "12 V", "pre-charge", "high voltage"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Sense:
    """One thing that a line depends on.

    `per` is by how much the line changes for each unit by which the thing is worse: 1 for ohms in series, amperes where volts
    are read. 0: only its opening is felt.
    """

    ref: str
    kind: str
    per: float = 1.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """One line; `high` is None where nothing is too high, `expected` where the meter must show no reading."""

    between: tuple[str, str]
    state: str
    quantity: Quantity
    unit: str
    expected: float | None
    low: float
    high: float | None
    senses: tuple[Sense, ...] = ()
    suspect: str
    is_optional: bool = False


def milliohm_line(between: tuple[str, str], state: str, expected: float, *, high: float, senses: tuple[Sense, ...], suspect: str) -> Line:
    """Metal or copper from one place to another: nothing is too little."""
    return Line(
        between=between,
        state=state,
        quantity="resistance",
        unit="mΩ",
        expected=expected,
        low=0.0,
        high=high,
        senses=senses,
        suspect=suspect,
    )


def open_line(between: tuple[str, str], state: str, *, low_ohm: float, sense: Sense, suspect: str) -> Line:
    """Two places that nothing may join."""
    return Line(
        between=between, state=state, quantity="open", unit="Ω", expected=None, low=low_ohm, high=None, senses=(sense,), suspect=suspect
    )


def volts_line(
    between: tuple[str, str], state: str, expected: float, *, low: float, high: float, suspect: str, senses: tuple[Sense, ...] = ()
) -> Line:
    """Volts, red lead on the first place."""
    return Line(
        between=between, state=state, quantity="voltage", unit="V", expected=expected, low=low, high=high, senses=senses, suspect=suspect
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """Lines of one kind: how they are called, the instrument, whence value and limit come, and what is wrong where one fails.

    `wrong` has a place for the names of what is suspected.
    """

    key: str
    title: str
    instrument: str
    basis: tuple[Basis, ...]
    wrong: str
    lines: tuple[Line, ...]
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Stage:
    """What is done before the next may begin."""

    key: StageKey
    title: str
    before: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """A line with its number on the sheet."""

    reading: Reading
    part: str
    stage: StageKey
    senses: tuple[Sense, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Commissioning:
    """The whole sheet. `steps` are its lines, numbered through; `unsaid` what has no line, and why."""

    stages: tuple[Stage, ...]
    steps: tuple[Step, ...]
    unsaid: tuple[str, ...]

    @property
    def readings(self) -> tuple[Reading, ...]:
        """All lines as the files know them."""
        return tuple(step.reading for step in self.steps)

    def of(self, part: str) -> tuple[Step, ...]:
        """The lines of one part."""
        return tuple(step for step in self.steps if step.part == part)

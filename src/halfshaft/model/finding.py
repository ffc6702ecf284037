"""What a study says when a number does not meet its limit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Level = Literal["stop", "fix", "note"]
BasisKind = Literal["published", "common practice", "from memory"]


@dataclass(frozen=True, slots=True)
class Basis:
    """Why a limit is the limit: where it is printed, or that it is the habit of the trade, or only remembered."""

    kind: BasisKind
    source: str = ""

    def __str__(self) -> str:
        words = f"{self.kind}, to be confirmed" if self.kind == "from memory" else self.kind
        return f"{words}: {self.source}" if self.source else words


def published(source: str) -> Basis:
    """A standard, handbook or paper, with clause or table."""
    return Basis("published", source)


def sentence(words: str) -> str:
    """First letter large, the others as they are: `HV cabin heater` keeps its name."""
    return words[:1].upper() + words[1:]


def listed(names: Sequence[str], word: str = "and") -> str:
    """Names as a sentence has them.

    >>> listed(["A", "B", "C"]), listed(["A"]), listed(["A", "B"], "or")
    ('A, B and C', 'A', 'A or B')
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {word} {names[-1]}"


COMMON_PRACTICE = Basis("common practice")
HV_CAUTION = "High voltage: work by qualified people only; local rules come first."
BATTERY_PLACE_CAUTION = (
    "Where batteries may go, how boxes are held and what an axle may carry is for qualified people and local rules to decide; "
    "nothing here looks at crash, fire or structure."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """One thing that a study found, for the page, the paper and the database alike."""

    rule: str
    level: Level
    about: tuple[str, ...]
    text: str
    basis: Basis
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    caution: str = ""


LEVELS: tuple[Level, ...] = ("stop", "fix", "note")


def in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Stops first, then by rule and by what they are about, so that a reprint matches the first print."""
    return tuple(sorted(findings, key=lambda f: (LEVELS.index(f.level), f.rule, f.about, f.text)))

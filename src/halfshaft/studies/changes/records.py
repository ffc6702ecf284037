"""The words of a change of mind: what was edited, what follows from it, and in which step of the work."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Literal

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Finding
from halfshaft.model.reading import Reading
from halfshaft.studies.looms.board import Moves
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.mass import MassResult
from halfshaft.studies.pack.study import Pack
from halfshaft.studies.parts_list import PartLine
from halfshaft.studies.wires.study import WiresResult

Act = Literal["stop", "unmake", "buy", "make", "fit", "cut", "loom", "print", "test", "know"]
Value = str | float | None

# The order in which the workshop acts: nothing is made before the old is out, nothing is cut before what it leads to is fitted.
ACTS: dict[Act, str] = {
    "stop": "Stop work on",
    "unmake": "Take out, send back",
    "buy": "Buy",
    "make": "Make",
    "fit": "Trial fit, before anything is coated",
    "cut": "Cut again",
    "loom": "Looms and boards",
    "print": "Print again",
    "test": "Test again",
    "know": "Only to know",
}
# Where one of these has a row, something that is built has to change.
BUILT: frozenset[Act] = frozenset({"stop", "unmake", "buy", "make", "fit", "cut", "loom"})


@dataclass(frozen=True, slots=True)
class Edit:
    """One field that reads otherwise. `field` is blank where a whole row came or went; then one side is None."""

    table: str
    key: str
    field: str
    was: Value
    now: Value


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """One line of the report. `edits` are those that it tells of; `minutes` and `price_eur` are what it takes (negative: comes back)."""

    act: Act
    kind: str
    ref: str
    quantity: str
    was: Value
    now: Value
    unit: str = ""
    do: str = ""
    why: str = ""
    about: tuple[str, ...] = ()
    minutes: float = 0.0
    price_eur: float | None = None
    edits: tuple[Edit, ...] = ()
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """What the car is, before and after; None where it is not known."""

    name: str
    was: float | None
    now: float | None
    unit: str
    decimals: int


@dataclass(frozen=True, kw_only=True, slots=True)
class BoardChange:
    """A loom's board, as it is drilled and as it has to be. A side is None where there is no board, both where its loom is gone. `holders` are those that stand elsewhere; `in_folder` says that the description holds the drilled board."""

    loom: str
    pegs_were: int | None
    pegs_are: int | None
    moves: Moves | None
    holders: tuple[str, ...]
    in_folder: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Printed:
    """One paper: its pieces by name, each as a value that is equal where the ink is."""

    kind: str
    ref: str
    title: str
    pieces: Mapping[str, Hashable]


@dataclass(frozen=True, kw_only=True, slots=True)
class State:
    """One description with what the studies say of it. `inside` holds the sense looms in the battery boxes, where there are any."""

    conversion: Conversion
    routing: Routing
    inside: Routing | None
    wires: WiresResult
    mass: MassResult
    pack: Pack | None
    parts: tuple[PartLine, ...]
    readings: Mapping[str, tuple[Reading, ...]]
    findings: tuple[Finding, ...]
    printed: tuple[Printed, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Changes:
    """Everything: what the car becomes, then the lines in the order of work."""

    before: str
    after: str
    notes: tuple[str, ...]
    figures: tuple[Figure, ...]
    lines: tuple[Change, ...]
    labour_eur_per_hour: float

    @property
    def is_built_otherwise(self) -> bool:
        """Whether anything that is built has to change."""
        return any(line.act in BUILT for line in self.lines)

    @property
    def hours(self) -> float:
        """Work that the change takes, from the allowances."""
        return sum(line.minutes for line in self.lines) / 60

    @property
    def buy_eur(self) -> float:
        """What is to be bought, as far as prices are known."""
        return sum(line.price_eur for line in self.lines if line.price_eur is not None and line.price_eur > 0)

    @property
    def back_eur(self) -> float:
        """What is left over, at its price."""
        return -sum(line.price_eur for line in self.lines if line.price_eur is not None and line.price_eur < 0)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt somebody in this work, each said once."""
        return tuple(dict.fromkeys(line.caution for line in self.lines if line.caution))

    def of(self, act: Act) -> tuple[Change, ...]:
        """The lines of one step."""
        return tuple(line for line in self.lines if line.act == act)

"""What the records say: revisions, lines, conflicts, drafts, what is done, people. Frozen, as everything that is a fact."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from halfshaft.errors import Fault, HalfshaftError

Role = Literal["look", "build", "design", "run"]
# Each may do what those before it may: look; lay and test; change conversions; keep accounts.
ROLES: tuple[Role, ...] = ("look", "build", "design", "run")

LineKind = Literal["main", "what-if", "aside"]
LineState = Literal["open", "taken", "dropped"]
Act = Literal["start", "save", "merge", "undo", "redo", "go back", "take", "drop"]
Choice = Literal["theirs", "mine"]
Work = Literal["lay", "test"]
Done = Literal["done", "problem", "open"]


class RecordError(HalfshaftError):
    """What was asked of the records cannot be done; the sentence says why and what to do."""


class NotThere(RecordError):
    """Nothing of that name is in the records."""


class Moved(RecordError):
    """Somebody saved since this page was read. `head` is the revision that stands there now."""

    def __init__(self, message: str, head: str) -> None:
        self.head = head
        super().__init__(message)


class TooManyAttempts(RecordError):
    """Sign-in was tried too often; `wait_s` is how long until it may be tried again."""

    def __init__(self, message: str, wait_s: float) -> None:
        self.wait_s = wait_s
        super().__init__(message)


@dataclass(frozen=True, kw_only=True, slots=True)
class Revision:
    """One saved state of a conversion. `id` is the hash of everything else here, so it can stand for nothing else.

    `tree` is the hash of the list of its files and theirs: two revisions with the same content have the same. `parents` is what it was made
    from: none for the first, two for a merge (what stood on the line, then what came in).
    """

    id: str
    conversion: str
    tree: str
    parents: tuple[str, ...]
    by: str
    at: datetime
    reason: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """A line of revisions: the main one, a what-if, or what somebody saved that could not be merged (aside).

    `started_from` is the revision at which it left the line `of` (None for the main one), `head` the one that stands now, `redo` the ones that
    were undone and can be had again, the next one first. `can_undo` says whether there is anything to undo.
    """

    id: str
    conversion: str
    kind: LineKind
    name: str
    state: LineState
    of: str | None
    started_from: str
    head: str
    redo: tuple[str, ...]
    can_undo: bool
    by: str
    at: datetime


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """A conversion in the list of those that are kept: its ref in the records, name of the car, main line and latest revision."""

    ref: str
    name: str
    main: str
    head: Revision


@dataclass(frozen=True, kw_only=True, slots=True)
class Move:
    """One line of a line's log: what was done, by whom and when, and where its head stood before and after."""

    number: int
    line: str
    act: Act
    before: str | None
    after: str
    by: str
    at: datetime
    note: str


@dataclass(frozen=True, order=True, slots=True)
class Cell:
    """One field of one row: its table (`wires`, `boxes.modules`), the row's key (`W103`, `B1/M04`; blank for a head) and its field.

    `field` is blank where the whole row came or went. `str(cell)` is a name that can travel in a form: `wires:W103:colour`.
    """

    table: str
    key: str
    field: str

    def __str__(self) -> str:
        return f"{self.table}:{self.key}:{self.field}"

    @classmethod
    def of(cls, words: str) -> Cell:
        """The cell of that name.

        >>> Cell.of("wires:W103:colour")
        Cell(table='wires', key='W103', field='colour')
        """
        table, _, rest = words.partition(":")
        key, _, field = rest.rpartition(":")
        return cls(table, key, field)


@dataclass(frozen=True, kw_only=True, slots=True)
class Clash:
    """A cell that two people changed to different things, in words for a page. None where there is nothing (or no such row)."""

    cell: Cell
    base: str | None
    theirs: str | None
    mine: str | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Saved:
    """It is kept: the revision, and the line with its new head. `merged` says that somebody else's changes are in it too."""

    revision: Revision
    line: Line
    merged: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Conflict:
    """It is kept, but beside the line: as `mine`, on a line of its own (`aside`). Call lines.take(aside) with choices to bring it in.

    `base` is the revision that both started from, `theirs` the head of the line. Each clash wants a choice. `faults` says what
    would not read in the two together (one took away what the other uses); then the clashes are the rows that it is about. When it is
    answered again, send the choices made before as well.
    """

    line: Line
    aside: Line
    base: str
    theirs: str
    mine: str
    clashes: tuple[Clash, ...]
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Draft:
    """Tables as somebody typed them, over a revision. Kept until they are saved, or are given up.

    `texts` holds the whole text of each such file of the folder by its name (`wires.csv`); `faults` says what is wrong, with file, row, column.
    `tree` names what was typed: the same words have the same. There is none of it left where all of it was undone.
    """

    line: str
    base: str
    by: str
    at: datetime
    tree: str
    texts: Mapping[str, str]
    faults: tuple[Fault, ...]
    can_undo: bool = False
    can_redo: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One thing that was said at the bench. `id` is made by the tablet: sent twice, it counts once.

    `item` is a wire's ref when laying, a pair's number on the test sheet when testing; `state` open takes a done or problem back.
    """

    id: str
    revision: str
    loom: str
    work: Work
    item: str
    state: Done
    by: str
    at: datetime
    note: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Waiver:
    """A finding that somebody lets stand, as it read; or (`stands` false) no longer does. `revision` is the one that was looked at."""

    rule: str
    about: tuple[str, ...]
    text: str
    revision: str
    stands: bool
    by: str
    at: datetime
    reason: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Account:
    """Somebody who may sign in. A closed account may not, and its name stays taken: records speak of it."""

    name: str
    role: Role
    at: datetime
    closed: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Session:
    """Somebody signed in. `token` goes into the cookie and is kept nowhere; `csrf` goes into the forms."""

    token: str
    csrf: str
    account: Account
    expires: datetime

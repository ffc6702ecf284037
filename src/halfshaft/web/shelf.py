"""Conversions from the records, each revision with its studies: worked out once, then kept for whoever asks next."""

from __future__ import annotations

import pickle
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future
from copy import copy
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from threading import Lock
from typing import Any, TypeVar

from halfshaft.book.build import digest_of
from halfshaft.drawings.diagrams.document import Diagrams
from halfshaft.files.folder import folder_files
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Finding
from halfshaft.records import conversions, lines, revisions, steps, waivers
from halfshaft.records.database import Database
from halfshaft.records.values import Entry, Line, NotThere, Revision, Waiver
from halfshaft.studies.looms.board import Board
from halfshaft.study import Study
from halfshaft.web import searches
from halfshaft.web.contents import PAGES, book_titles
from halfshaft.web.things import Things

Found = TypeVar("Found")

# Revisions whose studies are kept; each takes some ten megabytes.
KEPT = 6
# Where nobody signs in, whoever sits at this computer.
HERE = "this computer"


class Held:
    """One revision's studies. What takes long is worked out by another process, begun when the revision is first opened."""

    def __init__(self, conversion: Conversion, pool: Executor) -> None:
        self.study = Study(conversion)
        self.things = Things(self.study)
        self.pictures: dict[str, str] = {}
        # Packed here and now: while studies are asked for, they hang their tables on the conversion.
        self.packed = pickle.dumps(copy(conversion))
        self._boards = pool.submit(searches.boards, self.packed)
        self._diagrams = pool.submit(searches.diagrams, self.packed)
        self._rest = pool.submit(searches.rest, self.packed)

    @cached_property
    def digest(self) -> str:
        """The digest of the description, as on its papers."""
        return digest_of(folder_files(self.study.conversion))

    def boards(self) -> dict[str, Board]:
        """The boards by loom; waits until they are laid."""
        own, inside = self._found(self._boards, searches.boards)
        _give(self.study, boards=own)
        if self.study.sensing is not None:
            _give(self.study.sensing, boards=inside)
        return self.study.boards

    def diagrams(self) -> Diagrams:
        """The wiring diagrams; waits until they are drawn."""
        return self._found(self._diagrams, searches.diagrams)

    def whole(self) -> Study:
        """The study with everything in it that takes long; waits for it."""
        self.boards()
        _give(self.study, **self._found(self._rest, searches.rest))
        return self.study

    def _found(self, future: Future[Found], search: Callable[[bytes], Found]) -> Found:
        """What another process found; where it was killed, this one works it out."""
        try:
            return future.result()
        except BrokenExecutor:
            return search(self.packed)

    @cached_property
    def titles(self) -> list[str]:
        """The titles of the sections of the book, in order; waits until everything is worked out."""
        return book_titles(self.whole(), self.diagrams())

    @cached_property
    def numbers(self) -> dict[str, int]:
        """The number in the book of the first section that each page shows, by page."""
        return {page.slug: self.titles.index(page.book_title) + 1 for page in PAGES if page.book_title in self.titles}

    @property
    def has_diagrams(self) -> bool:
        """Whether the diagrams are drawn."""
        return self._diagrams.done()

    @property
    def is_whole(self) -> bool:
        """Whether nothing is to be waited for."""
        return all(future.done() for future in (self._boards, self._diagrams, self._rest))


def _give(study: Study, **results: Any) -> None:
    """Results that another process worked out, where this one has none yet."""
    for name, value in results.items():
        study.__dict__.setdefault(name, value)


@dataclass(frozen=True, kw_only=True, slots=True)
class Opened:
    """A revision of a conversion as a page shows it: the line that it stands on, and its studies."""

    entry: Entry
    line: Line
    revision: Revision
    held: Held

    @property
    def study(self) -> Study:
        """What the program has to say about it."""
        return self.held.study

    @property
    def things(self) -> Things:
        """What can be chosen in it."""
        return self.held.things

    @property
    def is_latest(self) -> bool:
        """Whether the line stands here."""
        return self.line.head == self.revision.id


class Shelf:
    """All conversions of one database."""

    def __init__(self, db: Database, pool: Executor) -> None:
        self.db = db
        self.pool = pool
        self._held: OrderedDict[str, Held] = OrderedDict()
        self._lock = Lock()

    def entries(self) -> tuple[Entry, ...]:
        """Which conversions there are."""
        return conversions.conversions(self.db)

    def open(self, ref: str, revision_id: str | None = None) -> Opened:
        """The latest revision of a conversion's main line, or any one by its id. Raises NotThere."""
        entry = conversions.entry(self.db, ref)
        line = lines.line(self.db, entry.main)
        revision = entry.head if revision_id is None else revisions.revision(self.db, revision_id)
        if revision.conversion != entry.ref:
            raise NotThere(f"revision {revision.id[:8]} is not one of {ref}")
        return Opened(entry=entry, line=line, revision=revision, held=self._hold(revision.id))

    def _hold(self, revision_id: str) -> Held:
        with self._lock:
            held = self._held.get(revision_id)
            if held is None:
                held = self._held[revision_id] = Held(revisions.conversion_at(self.db, revision_id), self.pool)
            self._held.move_to_end(revision_id)
            while len(self._held) > KEPT:
                self._held.popitem(last=False)
        return held

    def add(self, conversion: Conversion, reason: str, by: str) -> Line:
        """Keep a new conversion."""
        return conversions.create(self.db, conversion, by=by, at=now(), reason=reason)

    def step(self, way: str, ref: str, head: str, by: str) -> Line:
        """Undo or redo; `head` is the revision that the page showed."""
        act: Callable[..., Line] = {"undo": steps.undo, "redo": steps.redo}[way]
        return act(self.db, conversions.entry(self.db, ref).main, head, by=by, at=now())

    def waivers(self, one: Opened) -> tuple[Waiver, ...]:
        """The findings that somebody lets stand."""
        return waivers.waivers(self.db, one.entry.ref)

    def waive(self, one: Opened, finding: Finding, *, stands: bool, by: str, reason: str) -> Waiver:
        """Let a finding stand, or no longer."""
        act = waivers.waive if stands else waivers.withdraw
        return act(self.db, one.revision.id, finding, by=by, at=now(), reason=reason)


def now() -> datetime:
    """The time; asked for here, at the edge."""
    return datetime.now(UTC)

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
from typing import Any

from halfshaft.book.build import digest_of
from halfshaft.drawings.diagrams.document import Diagrams
from halfshaft.drawings.scene import Solid, scene_of
from halfshaft.files.folder import folder_files
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Finding
from halfshaft.records import conversions, drafts, lines, revisions, steps, waivers
from halfshaft.records.database import Database
from halfshaft.records.values import Draft, Entry, Line, NotThere, Revision, Waiver
from halfshaft.studies.looms.board import Board
from halfshaft.study import Study
from halfshaft.web import searches
from halfshaft.web.contents import PAGES, book_titles
from halfshaft.web.things import Things

# Revisions whose studies are kept; each takes some ten megabytes.
KEPT = 6
# Where nobody signs in, whoever sits at this computer.
HERE = "this computer"
# Asked for instead of a revision: what the one who asks has typed.
DRAFT = "draft"


class Held:
    """One revision's studies. What takes long is worked out by another process, begun when the revision is first opened.

    Of a draft, which is another one with the next key, it is begun when it is asked for.
    """

    def __init__(self, conversion: Conversion, pool: Executor, *, is_draft: bool = False) -> None:
        self.study = Study(conversion)
        self.things = Things(self.study)
        self.pictures: dict[str, str] = {}
        # Packed here and now: while studies are asked for, they hang their tables on the conversion.
        self.packed = pickle.dumps(copy(conversion))
        self._pool = pool
        self._futures: dict[str, Future[Any]] = {}
        self._lock = Lock()
        if not is_draft:
            for name in searches.ALL:
                self._future(name)

    def _future(self, name: str) -> Future[Any]:
        """A search, begun where it was not yet."""
        with self._lock:
            if name not in self._futures:
                self._futures[name] = self._pool.submit(searches.ALL[name], self.packed)
            return self._futures[name]

    @cached_property
    def digest(self) -> str:
        """The digest of the description, as on its papers."""
        return digest_of(folder_files(self.study.conversion))

    @cached_property
    def scene(self) -> tuple[Solid, ...]:
        """The car in the round."""
        return scene_of(self.study.conversion, self.study.routing, self.study.mass)

    def boards(self) -> dict[str, Board]:
        """The boards by loom; waits until they are laid."""
        own, inside = self._found("boards")
        _give(self.study, boards=own)
        if self.study.sensing is not None:
            _give(self.study.sensing, boards=inside)
        return self.study.boards

    def diagrams(self) -> Diagrams:
        """The wiring diagrams; waits until they are drawn."""
        found: Diagrams = self._found("diagrams")
        return found

    def whole(self) -> Study:
        """The study with everything in it that takes long; waits for it."""
        self.boards()
        _give(self.study, **self._found("rest"))
        return self.study

    def _found(self, name: str) -> Any:
        """What another process found; where it was killed, this one works it out."""
        try:
            return self._future(name).result()
        except BrokenExecutor:
            return searches.ALL[name](self.packed)

    def _is_done(self, name: str) -> bool:
        return name in self._futures and self._futures[name].done()

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
        return self._is_done("diagrams")

    @property
    def is_whole(self) -> bool:
        """Whether nothing is to be waited for."""
        return all(map(self._is_done, searches.ALL))


def _give(study: Study, **results: Any) -> None:
    """Results that another process worked out, where this one has none yet."""
    for name, value in results.items():
        study.__dict__.setdefault(name, value)


@dataclass(frozen=True, kw_only=True, slots=True)
class Opened:
    """A revision of a conversion as a page shows it: the line that it stands on, and its studies.

    `draft` is what the one who looks has typed on that line; `is_draft` says that it is this that is shown, over the revision on which it
    stands. `is_pinned` says that a revision was asked for by its id, and is to be asked for again by the links of its page.
    """

    entry: Entry
    line: Line
    revision: Revision
    held: Held
    draft: Draft | None = None
    is_draft: bool = False
    is_pinned: bool = False

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

    @property
    def is_main(self) -> bool:
        """Whether this is the main line, and no what-if."""
        return self.line.id == self.entry.main

    @property
    def rev(self) -> str:
        """What to ask the API for, to be told of what is shown here."""
        return DRAFT if self.is_draft else self.revision.id[:12]

    @property
    def asked(self) -> str:
        """The same as the end of an address."""
        return f"rev={self.rev}" + ("" if self.is_main else f"&line={self.line.id}")


class Shelf:
    """All conversions of one database."""

    def __init__(self, db: Database, pool: Executor) -> None:
        self.db = db
        self.pool = pool
        self._held: OrderedDict[str, Held] = OrderedDict()
        self._drafts: OrderedDict[tuple[str, str], tuple[str, Held]] = OrderedDict()
        self._lock = Lock()

    def entries(self) -> tuple[Entry, ...]:
        """Which conversions there are."""
        return conversions.conversions(self.db)

    def line(self, ref: str, line_id: str | None = None) -> Line:
        """The main line of a conversion, or another one of it. Raises NotThere."""
        entry = conversions.entry(self.db, ref)
        line = lines.line(self.db, line_id or entry.main)
        if line.conversion != entry.ref:
            raise NotThere(f"line {line.id} is not one of {ref}")
        return line

    def open(self, ref: str, revision_id: str | None = None, *, line_id: str | None = None, editor: str = "") -> Opened:
        """The latest revision of a conversion's main line or another one, or any revision by its id, or an editor's draft. Raises NotThere.

        Where there is no draft that reads, it is the latest revision.
        """
        entry = conversions.entry(self.db, ref)
        line = self.line(ref, line_id)
        typed = drafts.draft_conversion(self.db, line.id, by=editor) if editor else None
        draft, conversion = typed if typed is not None and typed[0].texts else (None, None)
        if revision_id == DRAFT and draft is not None and conversion is not None:
            under = revisions.revision(self.db, draft.base)
            held = self._hold_draft(draft, conversion)
            return Opened(entry=entry, line=line, revision=under, held=held, draft=draft, is_draft=True)
        is_pinned = revision_id not in (None, DRAFT)
        revision = revisions.revision(self.db, revision_id if revision_id is not None and is_pinned else line.head)
        if revision.conversion != entry.ref:
            raise NotThere(f"revision {revision.id[:8]} is not one of {ref}")
        is_pinned = is_pinned and (revision.id != line.head or draft is not None)
        return Opened(entry=entry, line=line, revision=revision, held=self._hold(revision.id), draft=draft, is_pinned=is_pinned)

    def _hold(self, revision_id: str) -> Held:
        with self._lock:
            held = self._held.get(revision_id)
            if held is None:
                held = self._held[revision_id] = Held(revisions.conversion_at(self.db, revision_id), self.pool)
            self._held.move_to_end(revision_id)
            while len(self._held) > KEPT:
                self._held.popitem(last=False)
        return held

    def _hold_draft(self, draft: Draft, conversion: Conversion) -> Held:
        """Of each draft, the latest state only."""
        key, state = (draft.line, draft.by), f"{draft.base} {draft.tree}"
        with self._lock:
            found = self._drafts.get(key)
            if found is None or found[0] != state:
                found = self._drafts[key] = (state, Held(conversion, self.pool, is_draft=True))
            self._drafts.move_to_end(key)
            while len(self._drafts) > KEPT:
                self._drafts.popitem(last=False)
        return found[1]

    def add(self, conversion: Conversion, reason: str, by: str) -> Line:
        """Keep a new conversion."""
        return conversions.create(self.db, conversion, by=by, at=now(), reason=reason)

    def step(self, way: str, line: Line, head: str, by: str) -> Line:
        """Undo or redo; `head` is the revision that the page showed."""
        act: Callable[..., Line] = {"undo": steps.undo, "redo": steps.redo}[way]
        return act(self.db, line.id, head, by=by, at=now())

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

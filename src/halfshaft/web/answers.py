"""What the API answers with, as records that its description (OpenAPI) can show."""

from __future__ import annotations

import hashlib
import json
from datetime import datetime
from typing import Any

from pydantic import BaseModel

from halfshaft.book.build import Item
from halfshaft.model.finding import LEVELS, Finding
from halfshaft.records.values import Entry, Line, Revision, Waiver
from halfshaft.web.jobs import Job
from halfshaft.web.shelf import Opened
from halfshaft.web.shown import shown_in
from halfshaft.web.things import Thing, Things


class RevisionOut(BaseModel):
    """A saved state: who, when, why."""

    id: str
    by: str
    at: datetime
    reason: str

    @classmethod
    def of(cls, revision: Revision) -> RevisionOut:
        """From the records."""
        return cls(id=revision.id, by=revision.by, at=revision.at, reason=revision.reason)


class EntryOut(BaseModel):
    """A conversion in the list."""

    ref: str
    name: str
    head: RevisionOut

    @classmethod
    def of(cls, entry: Entry) -> EntryOut:
        """From the records."""
        return cls(ref=entry.ref, name=entry.name, head=RevisionOut.of(entry.head))


class LineOut(BaseModel):
    """Where a line stands, and what can be undone or had again."""

    id: str
    head: str
    can_undo: bool
    can_redo: bool

    @classmethod
    def of(cls, line: Line) -> LineOut:
        """From the records."""
        return cls(id=line.id, head=line.head, can_undo=line.can_undo, can_redo=bool(line.redo))


class WaiverOut(BaseModel):
    """Who lets a finding stand, when and why."""

    by: str
    at: datetime
    reason: str


class FindingOut(BaseModel):
    """One finding, with the things that it is about; `id` is its name in the address, `waived` who lets it stand."""

    id: str
    rule: str
    level: str
    about: list[str]
    keys: list[str]
    text: str
    value: float | None
    limit: float | None
    unit: str
    basis: str
    caution: str
    waived: WaiverOut | None = None

    @classmethod
    def of(cls, finding: Finding, things: Things, waiver: Waiver | None = None) -> FindingOut:
        """From a study and the records."""
        waived = WaiverOut(by=waiver.by, at=waiver.at, reason=waiver.reason) if waiver else None
        return cls(
            id=id_of(finding), waived=waived,
            rule=finding.rule, level=finding.level, about=list(finding.about), keys=list(things.keys_of(finding.about)), text=finding.text,
            value=finding.value, limit=finding.limit, unit=finding.unit, basis=str(finding.basis), caution=finding.caution,
        )  # fmt: skip


def id_of(finding: Finding) -> str:
    """A short name of a finding as it reads: another figure in its sentence makes it another one."""
    return hashlib.sha256(json.dumps([finding.rule, finding.about, finding.text]).encode()).hexdigest()[:12]


class LinkOut(BaseModel):
    """A page that shows a thing."""

    title: str
    href: str


class ThingOut(BaseModel):
    """Something that can be chosen: what it is, what stands for it where it is not drawn by itself, which pages show it."""

    key: str
    kind: str
    ref: str
    words: str
    also: list[str]
    shown_in: list[LinkOut]
    findings: list[FindingOut]

    @classmethod
    def of(cls, thing: Thing, opened: Opened) -> ThingOut:
        """From a revision."""
        links = [LinkOut(title=link.title, href=link.href) for link in shown_in(opened, thing)]
        findings = [FindingOut.of(finding, opened.things) for finding in opened.things.findings_of.get(thing.key, ())]
        return cls(
            key=thing.key, kind=thing.kind, ref=thing.ref, words=thing.words, also=list(thing.also), shown_in=links, findings=findings
        )


class StateOut(BaseModel):
    """How far the studies of a revision are, its findings by level, and the numbers of its pages in the book once they are known."""

    revision: RevisionOut
    line: LineOut
    is_latest: bool
    is_whole: bool
    findings: dict[str, int]
    numbers: dict[str, int]

    @classmethod
    def of(cls, opened: Opened) -> StateOut:
        """From a revision."""
        held = opened.held
        found = held.study.findings if held.is_whole and held.whole() else held.study.design_findings
        return cls(
            revision=RevisionOut.of(opened.revision), line=LineOut.of(opened.line), is_latest=opened.is_latest, is_whole=held.is_whole,
            findings={level: sum(item.level == level for item in found) for level in LEVELS}, numbers=held.numbers if held.is_whole else {},
        )  # fmt: skip


class FileOut(BaseModel):
    """One file of the book."""

    file: str
    title: str
    kind: str
    size: int
    href: str


class BookOut(BaseModel):
    """The book of a revision: not begun, being made and how far, or its files."""

    state: str
    words: str
    step: int
    steps: int
    files: list[FileOut]

    @classmethod
    def of(cls, job: Job | None, base: str) -> BookOut:
        """From a job; `base` is where the files are fetched."""
        if job is None:
            return cls(state="none", words="not made yet for this revision", step=0, steps=1, files=[])
        items: tuple[Item, ...] = job.book.items if job.book else ()
        files = [
            FileOut(file=item.file, title=item.title, kind=item.kind, size=len(job.book.files[item.file]), href=f"{base}/{item.file}")
            for item in items
            if job.book
        ]
        return cls(state=job.state, words=job.words, step=job.step, steps=job.steps, files=files)


class Wrong(BaseModel):
    """Something that did not work: what, and what to do."""

    wrong: str
    more: Any = None

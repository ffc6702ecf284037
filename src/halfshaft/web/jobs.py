"""Books being made: each by a process of its own, which says how far it is and can be stopped."""

from __future__ import annotations

import pickle
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from threading import Lock, Thread
from typing import Literal

from halfshaft.book.build import Book, build_book
from halfshaft.drawings.tiles import Correction
from halfshaft.errors import HalfshaftError
from halfshaft.studies.looms.board import Board
from halfshaft.study import Study
from halfshaft.web.searches import step_back

State = Literal["running", "done", "stopped", "failed"]
# Books that are kept; each takes some ten megabytes.
KEPT = 3


@dataclass(slots=True)
class Job:
    """The book of one revision: how far it is, and the book once it is there."""

    revision: str
    steps: int
    state: State = "running"
    words: str = "starting"
    step: int = 0
    book: Book | None = None
    process: BaseProcess | None = field(default=None, repr=False)


class Books:
    """The latest books, by revision."""

    def __init__(self) -> None:
        self._jobs: OrderedDict[str, Job] = OrderedDict()
        self._lock = Lock()

    def of(self, revision: str) -> Job | None:
        """The book of a revision, made or being made."""
        return self._jobs.get(revision)

    def start(self, revision: str, packed: bytes, *, digest: str, boards: Mapping[str, Board] | None, looms: int) -> Job:
        """Begin to make one, unless it is there or being made."""
        with self._lock:
            job = self._jobs.get(revision)
            if job is not None and job.state in ("running", "done"):
                return job
            # Laying, diagrams, setting, labels, pictures; and each board.
            job = self._jobs[revision] = Job(revision=revision, steps=5 + looms)
            while len(self._jobs) > KEPT:
                _, old = self._jobs.popitem(last=False)
                _end(old)
        Thread(target=_follow, args=(job, packed, digest, boards), daemon=True).start()
        return job

    def stop(self, revision: str) -> None:
        """Stop making one; nothing of it is kept."""
        job = self._jobs.get(revision)
        if job is not None and job.state == "running":
            job.state, job.words = "stopped", "stopped; nothing was kept"
            _end(job)

    def close(self) -> None:
        """Stop them all."""
        for job in self._jobs.values():
            _end(job)


def _end(job: Job) -> None:
    if job.process is not None and job.process.is_alive():
        job.process.terminate()


def _follow(job: Job, packed: bytes, digest: str, boards: Mapping[str, Board] | None) -> None:
    """Start the process and write down what it says until it ends."""
    context = get_context("spawn")
    here, there = context.Pipe(duplex=False)
    job.process = context.Process(target=_make, args=(packed, digest, boards, there), daemon=True)
    job.process.start()
    there.close()
    try:
        while job.state == "running":
            said = here.recv()
            if isinstance(said, Book):
                job.book, job.state, job.words, job.step = said, "done", "ready", job.steps
            elif isinstance(said, HalfshaftError):
                job.state, job.words = "failed", str(said)
            else:
                job.words, job.step = said, min(job.step + 1, job.steps)
    except EOFError:
        if job.state == "running":
            job.state, job.words = (
                "failed",
                "the book could not be made: its process ended by itself. Try again; if it happens twice, report it",
            )
    finally:
        here.close()
        job.process.join()


def _make(packed: bytes, digest: str, boards: Mapping[str, Board] | None, out: Connection) -> None:
    """In the other process: the book, sent back whole."""
    step_back()
    study = Study(pickle.loads(packed))
    if boards is not None:
        study.__dict__["boards"] = boards
    try:
        out.send(build_book(study, digest=digest, correction=Correction(), say=out.send))
    except HalfshaftError as error:
        out.send(error)
    finally:
        out.close()

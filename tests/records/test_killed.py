"""A process that is killed at any instant loses at most what it had not yet acknowledged; so it is with a database being made."""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions, lines, revisions, saving
from halfshaft.records.database import open_database
from halfshaft.records.values import Saved
from store import clock, url_of, with_job

KILLS = 12


def run_and_kill(work: Callable[[int], None], seconds: float) -> str:
    """What a process said down its pipe in that many seconds, before it was killed where it stood."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reading)
            work(writing)
        finally:
            os._exit(1)
    os.close(writing)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1])
    with os.fdopen(reading) as pipe:
        return pipe.read()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="wants a system on which a process can be forked")
def test_whatever_was_acknowledged_is_there_and_whole(tmp_path: Path, small: Conversion) -> None:
    url = url_of(tmp_path / "records.db")
    db = open_database(url)
    main = conversions.create(db, small, by="Ann", at=clock())
    db.close()
    dice = random.Random(6)
    acknowledged: dict[str, str] = {}

    for kill in range(KILLS):

        def save_for_ever(pipe: int, kill: int = kill) -> None:
            opened = open_database(url)
            head = lines.line(opened, main.id).head
            for number in range(1_000_000):
                task = f"edit {number} before kill {kill}"
                done = saving.edit(opened, main.id, head, with_job(task=task), by="Ann", at=datetime.now(UTC), reason=task)
                assert isinstance(done, Saved)
                head = done.revision.id
                os.write(pipe, f"{head} {task}\n".encode())

        said = run_and_kill(save_for_ever, dice.uniform(0.02, 0.6))
        now = dict(line.split(" ", 1) for line in said.splitlines())
        acknowledged |= now

        db = open_database(url)
        assert revisions.faults_of_records(db) == ()
        head = lines.line(db, main.id).head
        behind = [item.id for item in revisions.history(db, head, limit=1_000_000)]
        assert set(acknowledged) <= set(behind)
        # At most the one that was being acknowledged is there besides.
        assert not now or behind.index(list(now)[-1]) <= 1
        assert all(move.after in behind for move in revisions.moves(db, main.id, limit=1_000_000))
        db.close()

    db = open_database(url)
    for key, task in acknowledged.items():
        kept = revisions.revision(db, key)
        assert kept.reason == task
        assert task in revisions.files_at(db, key)["conversion.toml"].decode()
    assert len(acknowledged) > KILLS
    db.close()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="wants a system on which a process can be forked")
def test_a_database_killed_while_it_was_made_is_made_the_next_time(tmp_path: Path) -> None:
    dice = random.Random(6)
    for kill in range(6):
        url = url_of(tmp_path / f"{kill}.db")

        def make(_pipe: int, url: str = url) -> None:
            open_database(url)
            time.sleep(60)

        run_and_kill(make, dice.uniform(0.0, 0.3))
        db = open_database(url)
        assert conversions.conversions(db) == ()
        assert revisions.faults_of_records(db) == ()
        db.close()

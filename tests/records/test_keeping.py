"""What is kept comes back byte for byte, under a name that is the hash of all that it says, and stays."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from sqlalchemy import func, select, text, update

from halfshaft.errors import InputError
from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions, revisions, saving, tables
from halfshaft.records.database import Database
from halfshaft.records.times import as_text
from halfshaft.records.values import Line, NotThere, RecordError, Saved
from store import clock, files_in, point, with_job, with_new, with_row


def test_the_demo_comes_back_byte_for_byte(db: Database, tern: Conversion, tern_folder: Path) -> None:
    main = conversions.create(db, tern, by="Ann", at=clock())
    assert revisions.files_at(db, main.head) == dict(files_in(tern_folder))
    db.held.clear()
    assert revisions.conversion_at(db, main.head) == tern


def test_a_revision_is_called_by_the_hash_of_all_that_it_says(db: Database, main: Line) -> None:
    kept = revisions.revision(db, main.head)
    said = [kept.conversion, kept.tree, list(kept.parents), kept.by, as_text(kept.at), kept.reason]
    assert kept.id == hashlib.sha256(json.dumps(said, ensure_ascii=False).encode()).hexdigest()
    assert revisions.revision(db, kept.id[:8]) == kept


def test_files_that_two_revisions_share_are_kept_once(db: Database, main: Line) -> None:
    def count() -> int:
        with db.reading() as connection:
            found: int = connection.execute(select(func.count()).select_from(tables.blobs)).scalar_one()
            return found

    before = count()
    saving.edit(db, main.id, main.head, with_job(task="another one"), by="Ann", at=clock(), reason="task")
    assert count() == before + 2  # conversion.toml and the list of files


def test_the_same_save_sent_twice_is_kept_once(db: Database, main: Line, small: Conversion) -> None:
    at = clock()
    edited = with_job(task="sent twice")(small)
    first, second = (saving.save(db, main.id, main.head, edited, by="Ann", at=at, reason="task") for _ in range(2))
    assert isinstance(first, Saved)
    assert isinstance(second, Saved)
    assert first.revision == second.revision
    assert len(revisions.history(db, first.line.head)) == 2


def test_a_save_that_changes_nothing_makes_no_revision(db: Database, main: Line, small: Conversion) -> None:
    done = saving.save(db, main.id, main.head, small, by="Ann", at=clock(), reason="nothing")
    assert isinstance(done, Saved)
    assert done.revision.id == main.head


def test_what_would_not_read_is_not_kept(db: Database, main: Line, small: Conversion) -> None:
    a_run, a_point = small.runs[0].ref, small.points[0].ref
    for edit, words in (
        (with_row("runs", a_run, from_point="NOWHERE"), f"runs.csv, column from_point: {a_run}: no 'NOWHERE' in points"),
        (with_row("points", a_point, x_mm=float("nan")), f"points.csv, column x_mm: {a_point}: nan"),
        (with_new("points", point(a_point)), "second time"),
    ):
        with pytest.raises(InputError, match=words):
            saving.edit(db, main.id, main.head, edit, by="Ann", at=clock(), reason="bad")
    assert conversions.entry(db, main.conversion).head.id == main.head


def test_conversions_of_one_ref_get_a_number(db: Database, main: Line, small: Conversion) -> None:
    second = conversions.create(db, small, by="Ann", at=clock())
    assert (main.conversion, second.conversion) == ("TERN", "TERN-2")
    assert second.head != main.head
    assert [(item.ref, item.name) for item in conversions.conversions(db)] == [("TERN", small.job.name), ("TERN-2", small.job.name)]


def test_a_revision_of_another_conversion_is_no_base(db: Database, main: Line, small: Conversion) -> None:
    other = conversions.create(db, small, by="Ann", at=clock())
    with pytest.raises(RecordError, match="is of TERN-2"):
        saving.save(db, main.id, other.head, small, by="Ann", at=clock(), reason="mixed up")


def test_what_is_not_there_is_said_so(db: Database, main: Line) -> None:
    for ask in (
        lambda: conversions.entry(db, "TURN"),
        lambda: revisions.revision(db, "0" * 64),
        lambda: revisions.revision(db, "%"),
        lambda: revisions.moves(db, "none"),
    ):
        with pytest.raises(NotThere):
            ask()


def test_damage_is_found(db: Database, main: Line) -> None:
    assert revisions.faults_of_records(db) == ()
    with db.writing() as connection:
        connection.execute(update(tables.revisions).values(reason="another"))
    assert [words for words in revisions.faults_of_records(db) if "is not what it was" in words]
    with db.writing() as connection:
        connection.execute(text("UPDATE blobs SET data = (SELECT data FROM blobs LIMIT 1)"))
    assert len(revisions.faults_of_records(db)) > 1
    with pytest.raises(RecordError, match="damaged"):
        revisions.files_at(db, main.head)

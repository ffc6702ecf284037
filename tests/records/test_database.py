"""Opening, the schema, and what is refused."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import text

from halfshaft.records import conversions, database, migrate
from halfshaft.records.database import Database, open_database
from halfshaft.records.tables import metadata
from halfshaft.records.values import Line, RecordError
from store import url_of


def test_the_steps_of_the_schema_lead_to_the_tables_of_the_program(db: Database) -> None:
    assert migrate.steps()[0] == database.SCHEMA
    with db.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []


def test_a_database_of_an_earlier_version_is_brought_up(db: Database, main: Line, tmp_path: Path) -> None:
    with db.writing() as connection:
        connection.execute(text("DROP TABLE waivers"))
        for name in ("undo", "redo"):
            connection.execute(text(f"ALTER TABLE drafts DROP COLUMN {name}"))
        connection.execute(text("UPDATE alembic_version SET version_num = '0001'"))
    again = open_database(url_of(tmp_path / "records.db"))
    with again.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    assert conversions.entry(again, main.conversion).head.id == main.head
    again.close()


def test_every_save_is_on_the_disk_before_it_is_acknowledged(db: Database) -> None:
    with db.reading() as connection:
        settings = [connection.execute(text(f"PRAGMA {name}")).scalar() for name in ("journal_mode", "synchronous", "foreign_keys")]
    assert settings == ["wal", 2, 1]


def test_opened_again_it_is_as_it_was(db: Database, main: Line, tmp_path: Path) -> None:
    again = open_database(url_of(tmp_path / "records.db"))
    assert conversions.conversions(again) == conversions.conversions(db)
    again.close()


@pytest.mark.parametrize(
    ("url", "words"),
    [
        ("records.db", "is no address"),
        ("nosuch://x", "is no address"),
        ("sqlite://", "want a file"),
        ("sqlite:////nosuch/folder/x.db", "unable to open"),
    ],
)
def test_addresses_that_lead_nowhere(url: str, words: str) -> None:
    with pytest.raises(RecordError, match=words):
        open_database(url)


def test_a_database_of_something_else_is_left_alone(tmp_path: Path) -> None:
    opened = Database(database._engine(url_of(tmp_path / "other.db")))
    with opened.writing() as connection:
        connection.execute(text("CREATE TABLE theirs (x)"))
    with pytest.raises(RecordError, match="holds something else"):
        open_database(url_of(tmp_path / "other.db"))
    opened.close()


def test_a_database_of_a_later_version_is_left_alone(db: Database, tmp_path: Path) -> None:
    with db.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(RecordError, match="later Halfshaft"):
        open_database(url_of(tmp_path / "records.db"))


def test_a_file_that_is_no_database(tmp_path: Path) -> None:
    (tmp_path / "x.db").write_bytes(b"no database at all, but long enough to be looked at" * 100)
    with pytest.raises(RecordError, match="not a database"):
        open_database(url_of(tmp_path / "x.db"))


def test_what_fails_leaves_nothing(db: Database) -> None:
    def fail() -> None:
        with db.writing() as connection:
            connection.execute(text("INSERT INTO conversions VALUES ('X', 'Y')"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert conversions.conversions(db) == ()


def test_several_processes_may_open_a_new_one_at_once(tmp_path: Path) -> None:
    code = f"from halfshaft.records.database import open_database; open_database({url_of(tmp_path / 'new.db')!r}).close()"
    opening = [subprocess.Popen([sys.executable, "-c", code], stderr=subprocess.PIPE) for _ in range(3)]
    for process in opening:
        assert process.communicate(timeout=120)[1] == b""


def test_checking_a_folder_loads_nothing_of_the_records() -> None:
    code = "import sys, halfshaft.cli; print([name for name in sys.modules if name.startswith(('sqlalchemy', 'alembic', 'argon2'))])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60).stdout == "[]\n"

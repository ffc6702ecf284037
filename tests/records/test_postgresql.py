"""The same records in PostgreSQL, by its address. Where its programs are not installed, this says so and is skipped."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from at_work import Person
from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions, drafts, lines, people, revisions, saving, steps
from halfshaft.records.database import open_database
from halfshaft.records.tables import metadata
from halfshaft.records.values import Conflict, Draft, Saved
from store import START, clock, with_job, with_row

BINARIES = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    pytest.importorskip("psycopg")
    if not BINARIES:
        pytest.skip("PostgreSQL is not installed: apt-get install postgresql")
    programs = BINARIES[-1].parent
    # It refuses to run as root, and the folders that pytest makes are closed to others.
    place = Path(f"/tmp/halfshaft-postgresql-{os.getpid()}")
    place.mkdir()
    as_another: list[str] = []
    if os.getuid() == 0:
        shutil.chown(place, "postgres", "postgres")
        as_another = ["runuser", "-u", "postgres", "--"]
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]

    def run(*words: str) -> None:
        subprocess.run([*as_another, *words], check=True, cwd="/", stdout=subprocess.DEVNULL, timeout=120)

    data = str(place / "data")
    run(str(programs / "initdb"), "-D", data, "-U", "app", "--auth=trust", "-E", "UTF8", "--locale=C.UTF-8", "-N")
    options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={place} -c fsync=off"
    run(str(programs / "pg_ctl"), "-D", data, "-w", "-l", str(place / "log"), "-o", options, "start")
    try:
        run(str(programs / "createdb"), "-h", "127.0.0.1", "-p", str(port), "-U", "app", "workshop")
        yield f"postgresql+psycopg://app@127.0.0.1:{port}/workshop"
    finally:
        run(str(programs / "pg_ctl"), "-D", data, "-m", "fast", "stop")
        shutil.rmtree(place)


def test_a_day_in_the_records(url: str, small: Conversion) -> None:
    db = open_database(url)
    with db.reading() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    main = conversions.create(db, small, by="Ann", at=clock())
    ref = small.removed[0].ref
    one = saving.edit(db, main.id, main.head, with_row("removed", ref, mass_kg=1.0), by="Ann", at=clock(), reason="one")
    two = saving.edit(db, main.id, main.head, with_job(task="two"), by="Ben", at=clock(), reason="two")
    three = saving.edit(db, main.id, main.head, with_row("removed", ref, mass_kg=3.0), by="Ben", at=clock(), reason="three")
    assert isinstance(one, Saved)
    assert isinstance(two, Saved)
    assert isinstance(three, Conflict)
    taken = lines.take(db, three.aside.id, theirs=three.theirs, by="Ben", at=clock(), choices={three.clashes[0].cell: "mine"})
    assert isinstance(taken, Saved)
    assert steps.undo(db, main.id, taken.line.head, by="Ann", at=clock()).head == two.line.head
    kept = drafts.save_texts(db, main.id, two.line.head, {"removed.csv": "ref\n"}, by="Ann", at=clock(), reason="typed")
    assert isinstance(kept, Draft)
    assert drafts.draft(db, main.id, by="Ann") == kept
    people.create_account(db, "Ann", "four plain short words", "run", at=clock())
    found = people.sign_in(db, "Ann", "four plain short words", address="a", at=START)
    assert people.session(db, found.token, at=START) == found
    assert revisions.faults_of_records(db) == ()
    again = open_database(url)
    assert conversions.conversions(again) == conversions.conversions(db)
    again.close()
    db.close()


def test_many_at_once(url: str, small: Conversion) -> None:
    both = open_database(url), open_database(url)
    main = conversions.create(both[0], small, by="Ann", at=clock())
    persons = [Person(db=both[number % 2], main=main, name=f"T{number:02d}", seen=main.head) for number in range(6)]
    with ThreadPoolExecutor(len(persons)) as pool:
        list(pool.map(lambda person: person.work(8), persons))
    now = revisions.conversion_at(both[0], lines.line(both[0], main.id).head)
    for person in persons:
        assert {ref: now.point[ref].x_mm for ref in person.places} == person.places
    for db in both:
        db.close()

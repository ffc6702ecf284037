"""A bad cell is kept as it was typed, and is a revision as soon as it reads."""

from __future__ import annotations

import csv
import io

import pytest

from halfshaft.records import drafts, lines, revisions, saving
from halfshaft.records.database import Database
from halfshaft.records.values import Conflict, Draft, Line, Moved, RecordError, Saved
from store import clock, point, with_job, with_new, with_row

BAD = "a lot"


def typed(db: Database, line: Line, base: str, texts: dict[str, str], by: str = "Ann") -> Saved | Conflict | Draft:
    return drafts.save_texts(db, line.id, base, texts, by=by, at=clock(), reason="typed")


def table_of(db: Database, base: str, name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(revisions.files_at(db, base)[name].decode())))


def text_of(rows: list[dict[str, str]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def with_mass(db: Database, base: str, mass: str) -> dict[str, str]:
    """The table of what comes out, with another mass typed into its first row."""
    first, *rest = table_of(db, base, "removed.csv")
    return {"removed.csv": text_of([{**first, "mass_kg": mass}, *rest])}


def test_a_bad_cell_waits_as_typed(db: Database, main: Line) -> None:
    texts = with_mass(db, main.head, BAD)
    kept = typed(db, main, main.head, texts)
    assert isinstance(kept, Draft)
    assert [(fault.file, fault.row, fault.column) for fault in kept.faults] == [("removed.csv", 2, "mass_kg")]
    assert drafts.draft(db, main.id, by="Ann") == kept
    assert drafts.draft(db, main.id, by="Ben") is None
    assert lines.line(db, main.id).head == main.head

    done = typed(db, main, main.head, with_mass(db, main.head, "151.5"))
    assert isinstance(done, Saved)
    assert revisions.conversion_at(db, done.revision.id).removed[0].mass_kg == 151.5
    assert drafts.draft(db, main.id, by="Ann") is None


def test_a_draft_moves_on_with_what_others_do_to_other_tables(db: Database, main: Line) -> None:
    rows = table_of(db, main.head, "runs.csv")
    kept = typed(db, main, main.head, {"runs.csv": text_of([*rows, {**rows[0], "ref": "NEWRUN", "to_point": "NEWPOINT"}])})
    assert isinstance(kept, Draft)
    saving.edit(db, main.id, main.head, with_new("points", point("NEWPOINT")), by="Ben", at=clock(), reason="a point")
    found = drafts.draft(db, main.id, by="Ann")
    assert found is not None
    assert found.faults == ()
    done = typed(db, main, found.base, {})
    assert isinstance(done, Saved)
    assert revisions.conversion_at(db, done.line.head).run["NEWRUN"].to_point == "NEWPOINT"


def test_a_draft_of_a_table_that_others_changed_is_merged_when_it_reads(db: Database, main: Line) -> None:
    kept = typed(db, main, main.head, with_mass(db, main.head, BAD))
    assert isinstance(kept, Draft)
    second = revisions.conversion_at(db, main.head).removed[1].ref
    theirs = saving.edit(db, main.id, main.head, with_row("removed", second, note="theirs"), by="Ben", at=clock(), reason="note")
    assert isinstance(theirs, Saved)
    with pytest.raises(Moved) as caught:
        typed(db, main, theirs.revision.id, with_mass(db, main.head, "12"))
    assert caught.value.head == main.head
    found = drafts.draft(db, main.id, by="Ann")
    assert found is not None
    assert found.base == main.head
    done = typed(db, main, found.base, with_mass(db, main.head, "12"))
    assert isinstance(done, Saved)
    assert done.merged
    first, second_row = revisions.conversion_at(db, done.line.head).removed[:2]
    assert (first.mass_kg, second_row.note) == (12, "theirs")


def test_a_draft_that_reads_at_last_but_clashes_is_kept_aside(db: Database, main: Line) -> None:
    typed(db, main, main.head, with_mass(db, main.head, BAD))
    ref = revisions.conversion_at(db, main.head).removed[0].ref
    saving.edit(db, main.id, main.head, with_row("removed", ref, mass_kg=1.0), by="Ben", at=clock(), reason="one")
    done = typed(db, main, main.head, with_mass(db, main.head, "2"))
    assert isinstance(done, Conflict)
    assert [(clash.theirs, clash.mine) for clash in done.clashes] == [("1", "2")]
    assert drafts.draft(db, main.id, by="Ann") is None


def test_it_can_be_given_up(db: Database, main: Line) -> None:
    typed(db, main, main.head, with_mass(db, main.head, BAD))
    saving.edit(db, main.id, main.head, with_job(task="other"), by="Ann", at=clock(), reason="another thing meanwhile")
    drafts.drop_draft(db, main.id, by="Ann")
    assert drafts.draft(db, main.id, by="Ann") is None


@pytest.mark.parametrize("text", ["\ud800", "\x00", '"', "ref\n1\n", "=1+1", ""])
def test_anything_at_all_may_be_typed(db: Database, main: Line, text: str) -> None:
    kept = typed(db, main, main.head, {"removed.csv": text})
    if isinstance(kept, Draft):
        found = drafts.draft(db, main.id, by="Ann")
        assert found is not None
        assert found.texts == {"removed.csv": text}
    else:
        assert text == ""  # an empty table is a table


@pytest.mark.parametrize("name", ["../x.csv", "/etc/passwd", "parts/../../x.toml", "notes.csv", "parts/.toml", "meshes/m.obj"])
def test_no_name_leads_elsewhere(db: Database, main: Line, name: str) -> None:
    with pytest.raises(RecordError, match="no file of a conversion"):
        typed(db, main, main.head, {name: "x"})

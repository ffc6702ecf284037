"""The API of editing: tables as typed, drafts, undo, saving, two editors, what-ifs, bringing in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from halfshaft.files.remedies import remedy
from halfshaft.model.conversion import Conversion
from halfshaft.records.conversions import create
from halfshaft.records.database import open_database
from halfshaft.web.app import create_app
from store import clock, small_of, url_of
from web.conftest import ADDRESS

Editor = dict[str, Any]


@pytest.fixture
def two(tern: Conversion, tmp_path: Path) -> Iterator[tuple[TestClient, TestClient, str]]:
    """Two browsers on one app with a small conversion, and the address of its API."""
    db = open_database(url_of(tmp_path / "two.db"))
    ref = create(db, small_of(tern), by="K. B.", at=clock(), reason="begun").conversion
    pool = ThreadPoolExecutor(1)
    app = create_app(db, pool)
    yield TestClient(app, base_url=ADDRESS), TestClient(app, base_url=ADDRESS), f"/api/conversions/{ref}"
    pool.shutdown(wait=False, cancel_futures=True)
    db.close()


def table_of(client: TestClient, base: str, table: str = "removed") -> Editor:
    found: Editor = client.get(f"{base}/tables/{table}?rev=draft").json()
    return found


def typed(client: TestClient, base: str, row: int, column: str, text: str, table: str = "removed") -> Editor:
    """What the grid sends when one cell was changed."""
    grid = table_of(client, base, table)
    rows = grid["rows"]
    rows[row][[item["name"] for item in grid["columns"]].index(column)] = text
    answer = client.put(f"{base}/draft/tables/{table}", json={"base": grid["base"], "rows": rows})
    assert answer.status_code == 200, answer.text
    found: Editor = answer.json()
    return found


def cell(client: TestClient, base: str, row: int, column: str, rev: str = "draft") -> str:
    grid = client.get(f"{base}/tables/removed?rev={rev}").json() if rev else client.get(f"{base}/tables/removed").json()
    words: str = grid["rows"][row][[item["name"] for item in grid["columns"]].index(column)]
    return words


def save(client: TestClient, base: str, by: str, reason: str = "typed") -> Editor:
    answer = client.post(f"{base}/draft/save/revision", json={"by": by, "reason": reason})
    assert answer.status_code == 201, answer.text
    found: Editor = answer.json()
    return found


def test_columns_come_from_the_model(client: TestClient) -> None:
    columns = {item["name"]: item for item in client.get("/api/conversions/TERN/tables/wires").json()["columns"]}
    assert columns["section_mm2"]["title"] == "Section, mm²"
    assert columns["colour"]["kind"] == "colour"
    assert columns["ref"]["is_key"]
    assert "FR" in columns["loom"]["options"]
    names = {item["table"] for item in client.get("/api/conversions/TERN/tables").json()}
    assert {"loads", "case_loads", "devices", "points", "runs", "wires"} <= names


def test_a_bad_cell_is_kept_as_typed_and_offers_what_is_near(two: tuple[TestClient, TestClient, str]) -> None:
    client, _, base = two
    head = client.get(f"{base}/draft").json()["head"]
    state = typed(client, base, 0, "mass_kg", "151,5")
    assert not state["reads"]
    assert [(item["row"], item["column"], item["remedy"]) for item in state["faults"]] == [(0, "mass_kg", "151.5")]
    assert cell(client, base, 0, "mass_kg") == "151,5"
    assert client.post(f"{base}/draft/save/revision", json={"by": "Ann", "reason": "no"}).status_code == 400

    state = typed(client, base, 0, "mass_kg", "151.5")
    assert state["reads"]
    assert state["head"] == head  # nothing is saved before it is asked for
    assert cell(client, base, 0, "mass_kg", rev="") != "151.5"
    done = save(client, base, "Ann", "weighed again")
    assert (done["revision"]["by"], done["revision"]["reason"]) == ("Ann", "weighed again")
    assert cell(client, base, 0, "mass_kg", rev="") == "151.5"
    assert not client.get(f"{base}/draft").json()["is_there"]


def test_typing_is_taken_back_and_had_again_before_it_is_saved(two: tuple[TestClient, TestClient, str]) -> None:
    client, _, base = two
    first = cell(client, base, 0, "mass_kg", rev="")
    for text in ("1", "2", "nonsense"):
        typed(client, base, 0, "mass_kg", text)
    for expected in ("2", "1", first):
        state = client.post(f"{base}/draft/undo").json()
        assert cell(client, base, 0, "mass_kg") == expected
    assert not state["is_there"]
    assert not state["can_undo"]
    assert client.post(f"{base}/draft/undo").status_code == 400
    for expected in ("1", "2", "nonsense"):
        client.post(f"{base}/draft/redo")
        assert cell(client, base, 0, "mass_kg") == expected
    client.post(f"{base}/draft/undo")
    assert typed(client, base, 0, "mass_kg", "3")["can_redo"] is False


def test_two_browsers_have_drafts_of_their_own_and_other_cells_are_merged(two: tuple[TestClient, TestClient, str]) -> None:
    one, other, base = two
    typed(one, base, 0, "mass_kg", "11")
    typed(other, base, 1, "mass_kg", "22")
    assert cell(other, base, 0, "mass_kg") != "11"
    before = one.get(f"{base}/draft").json()["head"]
    save(one, base, "Ann")

    state = other.get(f"{base}/draft").json()
    assert state["is_behind"]
    seen = other.get(f"{base}/changed?since={before}").json()
    assert [(item["field"], item["now"]) for item in seen["cells"]] == [("mass_kg", "11")]
    assert [item["by"] for item in seen["revisions"]] == ["Ann"]
    assert save(other, base, "Ben")["merged"]
    assert (cell(one, base, 0, "mass_kg", rev=""), cell(one, base, 1, "mass_kg", rev="")) == ("11", "22")


def test_the_same_cell_wants_a_choice_and_nothing_is_lost(two: tuple[TestClient, TestClient, str]) -> None:
    one, other, base = two
    typed(one, base, 0, "mass_kg", "11")
    typed(other, base, 0, "mass_kg", "22")
    save(one, base, "Ann")
    done = save(other, base, "Ben", "heavier")
    assert done["revision"] is None
    clashes = done["conflict"]["clashes"]
    assert [(item["field"], item["theirs"], item["mine"]) for item in clashes] == [("mass_kg", "11", "22")]

    aside = done["conflict"]["aside"]
    assert other.get(f"{base}/lines/{aside}/conflict").json()["clashes"] == clashes
    said = {"theirs": done["conflict"]["theirs"], "choices": {clashes[0]["cell"]: "mine"}, "by": "Ben"}
    assert other.post(f"{base}/lines/{aside}/take", json=said).json()["revision"]["by"] == "Ben"
    assert cell(one, base, 0, "mass_kg", rev="") == "22"
    kept = [item["reason"] for item in one.get(f"{base}/revisions").json()]
    assert len(kept) == 3


def test_go_back_and_what_ifs(two: tuple[TestClient, TestClient, str]) -> None:
    client, _, base = two
    first = client.get(f"{base}/draft").json()["head"]
    was = cell(client, base, 0, "mass_kg", rev="")
    typed(client, base, 0, "mass_kg", "7")
    save(client, base, "Ann")
    head = client.get(f"{base}/draft").json()["head"]
    assert client.post(f"{base}/go-back", json={"head": head, "to": first, "by": "Ann"}).status_code == 201
    assert cell(client, base, 0, "mass_kg", rev="") == was

    line = client.post(f"{base}/lines", json={"name": "lighter", "by": "Ann"}).json()["id"]
    grid = client.get(f"{base}/tables/removed?rev=draft&line={line}").json()
    grid["rows"][0][[item["name"] for item in grid["columns"]].index("mass_kg")] = "5"
    client.put(f"{base}/draft/tables/removed?line={line}", json={"base": grid["base"], "rows": grid["rows"]})
    client.post(f"{base}/draft/save/revision?line={line}", json={"by": "Ann", "reason": "try"}).raise_for_status()
    assert cell(client, base, 0, "mass_kg", rev="") == was
    theirs = client.get(f"{base}/draft").json()["head"]
    taken = client.post(f"{base}/lines/{line}/take", json={"theirs": theirs, "choices": {}, "by": "Ann"})
    assert taken.json()["revision"] is not None, taken.text
    assert cell(client, base, 0, "mass_kg", rev="") == "5"
    second = client.post(f"{base}/lines", json={"name": "another", "by": "Ann"}).json()["id"]
    client.post(f"{base}/lines/{second}/drop", json={"by": "Ann"}).raise_for_status()
    states = {item["name"]: item["state"] for item in client.get(f"{base}/lines").json()}
    assert (states["lighter"], states["another"]) == ("taken", "dropped")


def test_who_acts_gives_a_name(two: tuple[TestClient, TestClient, str]) -> None:
    client, _, base = two
    answer = client.post(f"{base}/lines", json={"name": "x"})
    assert answer.status_code == 400
    assert "give your name" in answer.json()["wrong"]


def test_what_was_changed_outside_is_brought_in_and_every_mistake_is_listed(two: tuple[TestClient, TestClient, str]) -> None:
    client, _, base = two
    head = client.get(f"{base}/draft").json()["head"]
    book = client.get(f"{base}/workbook.xlsx").content
    same = client.post(f"{base}/bring-in?base={head}&by=Ann&name=book.xlsx", content=book)
    assert same.status_code == 201, same.text
    assert same.json()["revision"]["id"] == head  # nothing differs, so nothing is saved
    wrong = client.post(f"{base}/bring-in?base={head}&by=Ann", content=b"PK\x03\x04 nothing")
    assert wrong.status_code == 400
    assert wrong.json()["more"][0]["file"] == "zip"


def words_of(page: str) -> str:
    """A page without its tags."""
    return re.sub(r"<[^>]+>", "", page)


def test_findings_follow_the_draft(client: TestClient) -> None:
    base = "/api/conversions/TERN"
    own = TestClient(client.app, base_url=ADDRESS)
    grid = table_of(own, base, "wires")
    names = [item["name"] for item in grid["columns"]]
    grid["rows"][2][names.index("from_pin")] = grid["rows"][1][names.index("from_pin")]
    state = own.put(f"{base}/draft/tables/wires", json={"base": grid["base"], "rows": grid["rows"]}).json()
    assert state["reads"]
    for part in ("wiring", "all"):
        found = own.get(f"{base}/draft/follows?rev=draft&of={part}").json()
        assert any(item["level"] == "stop" and "W103" in item["text"] for item in found["new"])
        assert found["cut_mm"]["W103"] > 0
    said = "W102, W103 end there"
    assert said in words_of(own.get("/c/TERN/findings").text)
    assert said not in words_of(own.get(f"/c/TERN/findings?rev={grid['base'][:12]}").text)
    own.delete(f"{base}/draft")


@pytest.mark.parametrize(
    ("message", "typed", "expected"),
    [
        ("no pin 'VC1.A.21'; did you mean 'VC1.A.12'?", "VC1.A.21", "VC1.A.12"),
        ("no device 'VC2' for 'VC2.A.1'; did you mean 'VC1'?", "VC2.A.1", "VC1.A.1"),
        ("device VC1 has no connector 'Q'; did you mean 'VC1.A'?", "VC1.Q.12", "VC1.A.12"),
        ("no point 'P99'; did you mean 'P9'?", "P1;P99;P3", "P1;P9;P3"),
        ("'violet' is no colour: write letters of IEC 60757, base-tracer, such as BU-WH; violet is VT", "violet", "VT"),
        ("'bu-wh' is no colour: write letters of IEC 60757, base-tracer, such as BU-WH", "bu-wh", "BU-WH"),
        ("'12 mm' holds a unit: leave out 'mm', the unit stands in the column's name", "12 mm", "12"),
        ("-3 is too small; it must be at least 0", "-3", "0"),
        ("no wire of 0.6 mm2 in wire_types.csv; there are 0.35, 0.5, 0.75, 1", "0.6", "0.5"),
        ("is blank and must be given", "", ""),
    ],
)
def test_what_to_write_instead(message: str, typed: str, expected: str) -> None:
    assert remedy(message, typed) == expected

"""What the API does: the same numbers as the studies, files in and out, undo and redo."""

from __future__ import annotations

import io
import zipfile

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from halfshaft.files.folder import folder_files
from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions, saving
from halfshaft.records.database import Database
from halfshaft.records.values import Saved
from halfshaft.study import Study
from store import clock, small_of, with_job

BASE = "/api/conversions/TERN"


def database_of(client: TestClient) -> Database:
    app = client.app
    assert isinstance(app, FastAPI)
    db: Database = app.state.shelf.db
    return db


def test_the_api_describes_itself(client: TestClient) -> None:
    described = client.get("/api/openapi.json").json()
    assert described["info"]["title"] == "Halfshaft"
    for path, acts in described["paths"].items():
        assert path.startswith("/api/")
        for act in acts.values():
            assert act.get("description"), path


def test_findings_are_those_of_the_study(client: TestClient, tern_study: Study) -> None:
    found = client.get(f"{BASE}/findings").json()
    assert [(item["rule"], item["level"], item["text"]) for item in found] == [(f.rule, f.level, f.text) for f in tern_study.findings]
    state = client.get(f"{BASE}/state").json()
    assert sum(state["findings"].values()) == len(found)
    assert state["is_whole"]


def test_axle_loads_of_the_scene_are_those_of_the_study(client: TestClient, tern_study: Study) -> None:
    axles = client.get(f"{BASE}/scene").json()["axles"]
    assert [axle["now_kg"] for axle in axles] == [tern_study.mass.finished.front_kg, tern_study.mass.finished.rear_kg]
    assert [axle["before_kg"] for axle in axles] == [239.0, 455.0]  # as weighed, in the demo's conversion.toml


def test_a_solid_stands_where_the_conversion_says(client: TestClient, tern: Conversion) -> None:
    solids = {solid["name"]: solid for solid in client.get(f"{BASE}/scene").json()["solids"]}
    box = tern.boxes[0]
    places = solids[box.ref]["places_mm"]
    for axis, least in enumerate((box.x_min_mm, box.y_min_mm, box.z_min_mm)):
        assert min(places[axis::3]) == pytest.approx(least, abs=0.05)


@pytest.mark.parametrize("study", ["mass", "pack", "wires", "cable", "findings"])
def test_each_study_is_given_whole(client: TestClient, study: str) -> None:
    assert client.get(f"{BASE}/studies/{study}").json()


def test_what_is_carried_out_and_brought_in_again_is_the_same(client: TestClient, empty: TestClient, tern: Conversion) -> None:
    for name in ("folder.zip", "workbook.xlsx"):
        sent = client.get(f"{BASE}/{name}")
        assert "attachment" in sent.headers["content-disposition"]
        made = empty.post("/api/conversions", content=sent.content)
        assert made.status_code == 201, made.text
        again = zipfile.ZipFile(io.BytesIO(empty.get(f"/api/conversions/{made.json()['ref']}/folder.zip").content))
        files = {entry.partition("/")[2]: again.read(entry) for entry in again.namelist()}
        if name == "folder.zip":
            assert files == folder_files(tern)


def test_undo_and_redo_move_between_revisions_and_see_who_was_quicker(empty: TestClient, tern: Conversion) -> None:
    client, db = empty, database_of(empty)
    ref = conversions.create(db, small_of(tern), by="K. B.", at=clock()).conversion
    base = f"/api/conversions/{ref}"
    before = client.get(f"{base}/state").json()
    assert not before["line"]["can_undo"]
    change = with_job(status="released for building")
    saved = saving.edit(db, before["line"]["id"], before["line"]["head"], change, by="K. B.", at=clock(), reason="released")
    assert isinstance(saved, Saved)
    after = client.get(f"{base}/state").json()
    assert (after["revision"]["reason"], after["line"]["can_undo"]) == ("released", True)
    assert client.get(f"/c/{ref}/car?rev={before['line']['head'][:12]}").text.count("not the latest") == 1
    late = client.post(f"{base}/undo", json={"head": before["line"]["head"]})
    assert late.status_code == 409
    assert late.json()["wrong"]
    undone = client.post(f"{base}/undo", json={"head": after["line"]["head"]}).json()
    assert undone["head"] == before["line"]["head"]
    assert undone["can_redo"]
    again = client.post(f"{base}/redo", json={"head": undone["head"]}).json()
    assert again["head"] == after["line"]["head"]


def test_a_revision_of_one_conversion_is_not_another_ones(empty: TestClient, tern: Conversion) -> None:
    first, second = (conversions.create(database_of(empty), small_of(tern), by="K. B.", at=clock()) for _ in range(2))
    answer = empty.get(f"/c/{first.conversion}/car?rev={second.head[:12]}")
    assert answer.status_code == 404
    assert f"not one of {first.conversion}" in answer.text


def test_a_book_is_begun_followed_and_stopped(client: TestClient) -> None:
    assert client.get(f"{BASE}/book").json()["state"] == "none"
    begun = client.post(f"{BASE}/book")
    assert begun.status_code == 202
    assert begun.json()["state"] == "running"
    assert "Stop making it" in client.get("/c/TERN/book").text
    stopped = client.delete(f"{BASE}/book").json()
    assert (stopped["state"], stopped["files"]) == ("stopped", [])
    assert client.get(f"{BASE}/books/{'0' * 64}/book.pdf").status_code == 404


def test_a_finding_is_waived_by_name_and_taken_back(empty: TestClient, tern: Conversion) -> None:
    conversions.create(database_of(empty), tern, by="K. B.", at=clock())
    item = next(item for item in empty.get(f"{BASE}/findings").json() if item["level"] == "fix")
    path = f"{BASE}/findings/{item['id']}"
    assert empty.post(f"{path}/waive", json={"by": "", "reason": "seen"}).status_code == 400
    assert empty.post(f"{path}/waive", json={"by": "L. M.", "reason": " "}).status_code == 400
    waived = empty.post(f"{path}/waive", json={"by": "L. M.", "reason": "measured, 2 mm to spare"}).json()["waived"]
    assert (waived["by"], waived["reason"]) == ("L. M.", "measured, 2 mm to spare")
    page = empty.get("/c/TERN/findings").text
    assert "1 of them waived" in page
    assert "by L. M., " in page
    assert empty.post(f"{path}/withdraw", json={"by": "L. M.", "reason": "it moved"}).json()["waived"] is None
    assert "of them waived" not in empty.get("/c/TERN/findings").text
    assert empty.post(f"{BASE}/findings/000000000000/waive", json={"by": "L. M.", "reason": "seen"}).status_code == 404

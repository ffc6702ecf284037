"""Hands on the car, on arrangements and on boards, as the pages ask for them."""

from __future__ import annotations

import time
from typing import Any

import pytest
from fastapi.testclient import TestClient

from halfshaft.model.conversion import Conversion
from halfshaft.records.conversions import create
from halfshaft.studies.moving import Shift, moved
from halfshaft.study import Study
from store import clock
from web.test_api import database_of

BASE = "/api/conversions/TERN"
LONG_S = 120.0


@pytest.fixture
def own(empty: TestClient, tern: Conversion) -> TestClient:
    """An app of its own with the demo, to be changed."""
    create(database_of(empty), tern, by="K. B.", at=clock(), reason="the demo car")
    return empty


def ended(client: TestClient, path: str) -> dict[str, Any]:
    """What a long piece of work answers once it has ended."""
    until = time.monotonic() + LONG_S
    while time.monotonic() < until:
        found: dict[str, Any] = client.get(path).json()
        if found["state"] != "running":
            return found
        time.sleep(0.1)
    raise AssertionError(f"{path} did not end in {LONG_S:.0f} s")


def test_what_follows_a_move_is_what_the_study_says(client: TestClient, tern: Conversion) -> None:
    answer = client.post(f"{BASE}/moves/try", json={"shifts": [{"ref": "B3", "dx_mm": -100}]})
    assert answer.status_code == 200, answer.text
    found = answer.json()
    after = Study(moved(tern, [Shift(ref="B3", by_mm=(-100.0, 0.0, 0.0))]))
    assert [row["then_kg"] for row in found["loads"]] == [
        after.mass.finished.front_kg, after.mass.finished.rear_kg, after.mass.finished.total_kg,
    ]  # fmt: skip
    assert found["then"]["x_mm"] == after.mass.finished.x_mm
    assert {row["ref"] for row in found["lengths"] if row["kind"] == "cable"} == {"C4"}
    assert [item["rule"] for item in found["findings"]] == ["boxes.outside-space"]
    assert "B3" in {solid["name"] for solid in found["solids"]}
    assert "B1" not in {solid["name"] for solid in found["solids"]}
    # Nothing is kept by trying.
    assert not client.get(f"{BASE}/state").json()["line"]["can_undo"]


def test_what_it_stands_in_is_told_and_what_is_not_there_refused(client: TestClient, tern: Conversion) -> None:
    by_mm = tern.boxes[1].y_min_mm - tern.boxes[0].y_min_mm
    found = client.post(f"{BASE}/moves/try", json={"shifts": [{"ref": "B1", "dy_mm": by_mm}]}).json()
    assert "B2" in {one["ref"] for one in found["in_the_way"]}
    wrong = client.post(f"{BASE}/moves/try", json={"shifts": [{"ref": "X9", "dx_mm": 1}]})
    assert wrong.status_code == 400
    assert "X9" in wrong.json()["wrong"]
    assert client.post(f"{BASE}/moves/try", json={"shifts": []}).status_code == 422
    assert client.post(f"{BASE}/moves/try", json={"shifts": [{"ref": "B1", "dx_mm": 1e9}]}).status_code == 422


def test_a_move_is_kept_with_its_reason_and_undone(own: TestClient, tern: Conversion) -> None:
    body = {"shifts": [{"ref": "B3", "dx_mm": -5}, {"ref": "BAT", "dz_mm": 3}]}
    assert own.post(f"{BASE}/moves", json={**body, "reason": " "}).status_code == 400
    head = own.get(f"{BASE}/state").json()["revision"]["id"]
    made = own.post(f"{BASE}/moves", json={**body, "reason": "room behind the box"})
    assert made.status_code == 201, made.text
    state = own.get(f"{BASE}/state").json()
    assert (state["revision"]["id"], state["revision"]["reason"]) == (made.json()["revision"], "room behind the box")
    places = {solid["name"]: solid["places_mm"] for solid in own.get(f"{BASE}/scene").json()["solids"]}
    assert min(places["B3"][0::3]) == tern.boxes[2].x_min_mm - 5
    # Who moved the same from an older page is told, and loses nothing.
    late = own.post(f"{BASE}/moves?rev={head[:12]}", json={"shifts": [{"ref": "B3", "dx_mm": 7}], "reason": "hose"}).json()
    assert "nothing is lost" in late["beside"]
    assert own.get(late["href"]).status_code == 200
    undone = own.post(f"{BASE}/undo", json={"head": state["revision"]["id"]})
    assert undone.json()["head"] == head


def test_arrangements_are_searched_stopped_and_taken(own: TestClient) -> None:
    assert own.get(f"{BASE}/arrange").json()["state"] == "none"
    assert own.get(f"{BASE}/arrange/1").status_code == 404
    assert own.post(f"{BASE}/arrange", json={"effort_s": -1}).status_code == 422
    assert own.post(f"{BASE}/arrange", json={"effort_s": 0}).status_code == 202
    front = ended(own, f"{BASE}/arrange")
    assert (front["state"], front["count"]) == ("done", len([item for item in front["found"] if item["number"]]))
    now = next(item for item in front["found"] if item["is_now"])
    mass = own.get(f"{BASE}/studies/mass").json()
    assert now["front_kg"] == pytest.approx(mass["finished"]["front_left_kg"] + mass["finished"]["front_right_kg"], abs=0.05)
    other = next(item for item in front["found"] if item["number"] and not item["is_now"])
    assert own.get(f"{BASE}/arrange/{other['number']}").json()["changed"]
    assert own.get(f"{BASE}/arrange/999").status_code == 400

    # A longer search that is stopped keeps what it has found.
    own.post(f"{BASE}/arrange", json={"effort_s": 60})
    until = time.monotonic() + LONG_S
    while not own.get(f"{BASE}/arrange").json()["found"] and time.monotonic() < until:
        time.sleep(0.1)
    stopped = own.delete(f"{BASE}/arrange").json()
    assert stopped["state"] == "stopped"
    assert stopped["count"]

    head = own.get(f"{BASE}/state").json()["revision"]["id"]
    what_if = own.post(f"{BASE}/arrange/{other['number']}/take", json={"reason": "lower", "where": "what-if"})
    assert what_if.status_code == 201, what_if.text
    assert own.get(f"{BASE}/state").json()["revision"]["id"] == head
    assert own.get(what_if.json()["href"]).status_code == 200
    taken = own.post(f"{BASE}/arrange/{other['number']}/take", json={"reason": "lower"})
    assert taken.status_code == 201, taken.text
    assert own.get(f"{BASE}/state").json()["revision"]["reason"] == "lower"
    after = own.get(f"{BASE}/studies/mass").json()["finished"]
    assert after["front_left_kg"] + after["front_right_kg"] == pytest.approx(other["front_kg"], abs=1.0)


def test_a_branch_is_turned_and_kept(own: TestClient) -> None:
    loom = f"{BASE}/boards/BX"
    board = own.get(loom).json()
    ends = [(one["from_node"], one["to_node"]) for one in board["stretches"]]
    leaf = next(
        one for one in board["stretches"] if sum(one["to_node"] in pair for pair in ends) == 1 and one["length_mm"] > one["bundle_mm"]
    )  # fmt: skip
    for by_deg in (45.0, -45.0, 90.0, 30.0, -30.0, 15.0, -15.0):
        heading = (leaf["heading_deg"] + by_deg) % 360.0
        turn = {"from_node": leaf["from_node"], "to_node": leaf["to_node"], "heading_deg": heading}
        assert own.post(f"{loom}/try", json={"turns": [turn]}).status_code == 202
        found = ended(own, f"{loom}/try")
        assert found["state"] == "done", found["words"]
        if not found["let_go"]:
            break
        assert "try another heading" in found["refused"][0]
    now = next(one for one in found["board"]["stretches"] if {one["from_node"], one["to_node"]} == {leaf["from_node"], leaf["to_node"]})
    assert now["by_hand"]
    assert now["length_mm"] == leaf["length_mm"]
    assert now["heading_deg"] == pytest.approx(heading, abs=0.01)
    assert own.get(f"{loom}/try.svg").text.startswith("<svg")
    assert own.post(f"{loom}/keep", json={"turns": [turn], "reason": "clear of the edge"}).status_code == 201
    kept = own.get(loom).json()
    assert [one["heading_deg"] for one in kept["stretches"] if one["by_hand"]] == [now["heading_deg"]]


def test_a_sheet_that_is_too_small_is_refused_in_a_sentence(own: TestClient) -> None:
    loom = f"{BASE}/boards/SR"
    assert own.post(f"{loom}/try", json={"turns": [], "width_mm": 300, "height_mm": 200}).status_code == 202
    found = ended(own, f"{loom}/try")
    assert "does not go on a sheet of 300 × 200 mm" in found["refused"][0]
    assert not found["board"]["fits"]
    assert own.get(f"{BASE}/boards/NONE").status_code == 404
    assert own.post(f"{BASE}/boards/NONE/try", json={"turns": []}).status_code == 400

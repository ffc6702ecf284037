"""The bench over the API: what it is given to do, what is kept of it, and what a filled sheet says."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from fastapi.testclient import TestClient

from halfshaft.model.conversion import Conversion
from halfshaft.study import Study
from halfshaft.web.doors import needed_for

BASE = "/api/conversions/TERN/bench"
AT = "2026-11-28T10:00:00Z"


def told(item: str, state: str = "done", **more: str) -> dict[str, str]:
    return {"id": uuid.uuid4().hex, "item": item, "state": state, "at": AT, "by": "K. B.", **more}


def say(client: TestClient, sheet: str, work: str, step: dict[str, str]) -> dict[str, Any]:
    answer = client.post(f"{BASE}/{sheet}/{work}/steps", json=step)
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_wires_come_in_the_order_of_the_run_out_list_with_their_lengths(client: TestClient, tern_study: Study) -> None:
    sheet = client.get(f"{BASE}/FR/lay").json()
    assert [item["item"] for item in sheet["items"]] == [line.wire for line in tern_study.run_out["FR"]]
    for item, line in zip(sheet["items"], tern_study.run_out["FR"], strict=True):
        laid = tern_study.routing.wires[line.wire]
        assert laid.length is not None
        assert item["cut"] == f"{laid.length.cut_mm:.0f} mm"
        assert [end["pin"] for end in item["ends"]] == [laid.wire.from_pin, laid.wire.to_pin]
        assert dict(item["words"]).get("Pegs", "") == " → ".join(map(str, line.pegs))
        assert f'data-ref="wire:{line.wire}"' in sheet["board"]


def test_every_end_in_a_plug_has_its_face_and_cavity(client: TestClient, tern: Conversion) -> None:
    for loom in ("FR", "IB1"):
        sheet = client.get(f"{BASE}/{loom}/lay").json()
        for end in (end for item in sheet["items"] for end in item["ends"] if end["connector"] in sheet["faces"]):
            assert end["cavity"] in sheet["faces"][end["connector"]]["cells"], end
    face = sheet_face(client, tern)
    assert list(face) == sorted(face, key=lambda ref: (face[ref][1], face[ref][0]))  # row by row from the top left


def sheet_face(client: TestClient, tern: Conversion) -> dict[str, tuple[float, float, float]]:
    """The cells of the vehicle controller's plug, which counts row by row from the top left."""
    assert tern.connector["VCU", "A"].numbering.startswith("row by row from the top left")
    return dict(client.get(f"{BASE}/FR/lay").json()["faces"]["VCU.A"]["cells"])


def test_a_step_sent_twice_counts_once_and_can_be_taken_back(client: TestClient) -> None:
    step = told("W128", note="")
    assert say(client, "FR", "lay", step)["is_new"] is True
    again = say(client, "FR", "lay", step)
    assert again["is_new"] is False
    assert again["said"]["W128"]["by"] == "K. B."
    assert say(client, "FR", "lay", told("W128", "problem", note="nicked"))["said"]["W128"]["note"] == "nicked"
    listed = next(item for item in client.get(BASE).json() if (item["sheet"], item["work"]) == ("FR", "lay"))
    assert (listed["of"], listed["done"], listed["problems"]) == (60, 0, 1)
    assert "W128" not in say(client, "FR", "lay", told("W128", "open"))["said"]


@pytest.mark.parametrize(
    ("sheet", "work", "step", "status"),
    [
        ("FR", "lay", told("W999"), 404),
        ("XX", "lay", told("W128"), 404),
        ("FR", "test", told("9999", found="1"), 404),
        ("FR", "test", told("1", found="banana"), 400),
        ("FR", "test", told("1"), 400),
        ("sense-B1", "test", told("1", found="3.65"), 400),  # volts without a sign
        ("FR", "lay", {**told("W128"), "at": "2026-11-28T10:00:00"}, 422),
        ("FR", "lay", {**told("W128"), "state": "laid"}, 422),
        ("FR", "lay", {**told("W128"), "id": "../../x"}, 422),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(client: TestClient, sheet: str, work: str, step: dict[str, str], status: int) -> None:
    answer = client.post(f"{BASE}/{sheet}/{work}/steps", json=step)
    assert answer.status_code == status, answer.text
    assert answer.json()["wrong"]


def test_the_limits_decide_whether_a_line_passes(client: TestClient, tern_study: Study) -> None:
    reading = next(item for item in tern_study.readings["RR"] if item.high is not None)
    assert reading.high is not None
    number = str(reading.number)
    for found, state in ((f"{reading.high - 0.1:.1f}", "done"), (f"{reading.high + 1:.1f}", "problem"), ("open", "problem")):
        # The tablet may say what it likes.
        kept = say(client, "RR", "test", told(number, "done", found=found))["said"][number]
        assert (kept["state"], kept["found"]) == (state, found)


def test_a_filled_sheet_names_the_suspect(client: TestClient, tern_study: Study) -> None:
    """A wire of the front loom that does not conduct: its two pins are open, everything else is as expected."""
    readings = tern_study.readings["FR"]
    broken = next(item for item in readings if item.quantity == "resistance" and len(item.wires) == 1)
    for reading in readings:
        found = "open" if reading.expected is None or reading is broken else f"{reading.expected:.2f}"
        say(client, "FR", "test", told(str(reading.number), found=found))
    said = client.get(f"{BASE}/FR/test/diagnosis").json()
    assert (said["passed"], [item["number"] for item in said["failed"]], said["not_measured"]) == (len(readings) - 1, [broken.number], [])
    assert any(broken.wires[0] in suspect["about"] for suspects in said["explanations"] for suspect in suspects)
    assert said["caution"] == ""


def test_the_electrics_have_their_stops_between_the_lines(client: TestClient, tern_study: Study) -> None:
    items = client.get(f"{BASE}/electrics/test").json()
    assert "qualified people" in items["caution"]
    stops = [item["item"] for item in items["items"] if item["kind"] == "stage"]
    assert stops == [f"stage {stage.key}" for stage in tern_study.commissioning.stages]
    numbers = [int(item["item"]) for item in items["items"] if item["kind"] == "reading"]
    assert sorted(numbers) == [reading.number for reading in tern_study.commissioning.readings]
    assert say(client, "electrics", "test", told("stage 12 V"))["said"]["stage 12 V"]["state"] == "done"
    assert client.get(f"{BASE}/electrics/test/diagnosis").json()["passed"] == 0


def test_the_page_and_the_list_are_there(client: TestClient) -> None:
    page = client.get("/c/TERN/bench/FR/lay")
    assert page.status_code == 200
    assert 'data-theme="bench"' in page.text
    assert "Lay FR" in client.get("/c/TERN/bench").text
    assert client.get("/c/TERN/bench/nothing/lay").status_code == 404
    assert client.get("/bench-worker.js").headers["content-type"].startswith("text/javascript")


def test_who_builds_may_say_steps_and_no_more() -> None:
    assert needed_for(f"{BASE}/FR/lay/steps") == "build"
    assert needed_for("/api/conversions/TERN/undo") == "design"
    assert needed_for("/api/conversions/steps") == "design"

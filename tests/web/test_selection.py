"""One selection in every view: what a thing is, which pages show it, and that those pages do show it."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from halfshaft.model.conversion import Conversion

BASE = "/api/conversions/TERN"


def thing(client: TestClient, key: str) -> dict[str, object]:
    answer = client.get(f"{BASE}/things/{key}")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_a_wire_is_known_with_its_way(client: TestClient, tern: Conversion) -> None:
    found = thing(client, "wire:W103")
    wire = tern.wire["W103"]
    assert found["words"] == f"{wire.meaning}: {wire.colour} {wire.section_mm2:g} mm², 2870 mm, from {wire.from_pin} to {wire.to_pin}"
    assert "run:U01" in found["also"]
    titles = [link["title"] for link in found["shown_in"]]
    assert titles == ["the car", "the wires", "board FR", f"diagram {wire.system}"]


@pytest.mark.parametrize(
    "key", ["wire:W103", "device:VCU", "device:B1", "cable:C1", "module:M01", "splice:S1", "run:U17", "loom:FR", "space:SP1", "hose:H1"]
)
def test_every_page_that_is_named_shows_the_thing(client: TestClient, key: str) -> None:
    """On a page of tables its ref stands there to be chosen; in a drawing its group does; in the car its solid or what stands for it."""
    if client.get(f"{BASE}/things/{key}").status_code == 404:
        pytest.skip(f"the demo has no {key}")
    found = thing(client, key)
    keys = {key, *found["also"]}
    solids = {solid["key"] for solid in client.get(f"{BASE}/scene").json()["solids"]}
    for link in found["shown_in"]:
        page = client.get(link["href"])
        assert page.status_code == 200, link
        assert f"Selected: {found['ref']}" in page.text
        if link["title"] == "the car":
            assert keys & solids, link
        elif drawing := re.search(r'data-src="([^"]+\.svg[^"]*)"', page.text):
            refs = set(re.findall(r'data-ref="([^"]+)"', client.get(drawing[1].replace("&amp;", "&")).text))
            assert keys & refs, link
        elif link["title"] == "the wires":
            # The grid fetches its rows, and marks the cells that name what is chosen.
            cells = {cell for row in client.get(f"{BASE}/tables/wires").json()["rows"] for cell in row}
            assert key.startswith(("run:", "splice:")) or any(
                cell == found["ref"] or cell.startswith(f"{found['ref']}.") for cell in cells
            ), link
        else:
            assert f'data-ref="{key}"' in page.text or f'data-row="{key}"' in page.text, link


def test_every_wire_is_in_a_diagram_and_every_loom_wire_on_its_board(client: TestClient, tern: Conversion) -> None:
    numbers = client.get(f"{BASE}/drawings").json()
    refs = {
        n: set(re.findall(r'data-ref="([^"]+)"', client.get(f"{BASE}/drawings/{n}.svg").text))
        for n in numbers
        if "-WD-" in n or "-LB-" in n
    }
    drawn = set().union(*(found for number, found in refs.items() if "-WD-" in number))
    assert {f"wire:{wire.ref}" for wire in tern.wires} <= drawn
    assert {f"cable:{cable.ref}" for cable in tern.cables if cable.system} <= drawn
    for loom in tern.looms:
        if loom.board_width_mm:
            assert {f"wire:{wire.ref}" for wire in tern.wires if wire.loom == loom.ref} <= refs[f"TERN-LB-{loom.ref}"], loom.ref


def test_every_key_in_a_drawing_or_in_the_scene_is_a_thing(client: TestClient) -> None:
    known = {item["key"] for item in client.get(f"{BASE}/things").json()}
    for number in ("views", "TERN-LB-FR", "TERN-WD-PED", "TERN-WD-HVP"):
        refs = set(re.findall(r'data-ref="([^"]+)"', client.get(f"{BASE}/drawings/{number}.svg").text))
        assert refs, number
        assert refs <= known, (number, refs - known)
    solids = client.get(f"{BASE}/scene").json()["solids"]
    assert {solid["key"] for solid in solids if solid["key"]} <= known
    for kind in ("box", "module", "device", "HV cable", "loom", "hose", "space"):
        assert all(solid["key"] for solid in solids if solid["kind"] == kind), kind


def test_a_chosen_row_and_the_selection_line_are_there_without_any_script(client: TestClient) -> None:
    page = client.get("/c/TERN/wires?sel=wire:W103").text
    assert 'data-sel="wire:W103"' in page
    assert "Selected: W103" in page
    assert 'href="/c/TERN/boards/TERN-LB-FR?sel=wire:W103"' in page
    assert 'href="/c/TERN/car?sel=wire:W103"' in page


def test_an_unknown_selection_is_no_selection(client: TestClient) -> None:
    page = client.get("/c/TERN/wires?sel=wire:NONE")
    assert page.status_code == 200
    assert "Nothing selected" in page.text
    assert client.get(f"{BASE}/things/wire:NONE").status_code == 404


def test_a_word_without_a_capital_or_of_one_letter_names_nothing(client: TestClient) -> None:
    page = client.get("/c/TERN/12-volts").text
    assert not re.search(r'data-ref="[^"]+"[^>]*>[a-z]+<', page)

"""Terminal numbers, fuse colours and sheet zones of the diagrams, held against the published tables in the shared references.

DIN 72552 and the numbering of relay sockets: terminal_numbers_din72552.csv (sources in its rows: an encyclopedia of terminal
names, a vehicle club's relay page, ISO 7588 as noted in a public repository). Fuse colours: blade_fuses.csv (DIN 72581-3 form E
extract, ISO 8820-3 as listed by a page of fuse markings).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from halfshaft.model.parts import Element
from halfshaft.standards import fuse_colours
from halfshaft.studies.diagrams.units import terminal_numbers

REFERENCES = Path(__file__).parents[2].parent / "shared" / "references"


def rows(name: str) -> list[dict[str, str]]:
    path = REFERENCES / name
    if not path.is_file():
        pytest.skip(f"the shared references are not beside this repository: no {name}")
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


def contact(pattern: str, rest: str) -> Element:
    return Element(ref="K1", kind="contact", pin_a="A.1", pin_b="A.2", rest_state=rest, pattern=pattern)


@pytest.mark.parametrize(
    ("pattern", "rest", "numbers"),
    [
        # A relay socket of today: 30 is the common contact, 87 the output that is made, 87a the one that is broken.
        ("socket", "open", ("30", "87")),
        ("socket", "closed", ("30", "87a")),
        # DIN 72552: 87 is the input of a break or change-over contact, 88 that of a make contact; outputs end in a.
        ("DIN 72552", "closed", ("87", "87a")),
        ("DIN 72552", "open", ("88", "88a")),
        ("", "open", ("", "")),
    ],
)
def test_a_contact_is_numbered_by_its_own_pattern(pattern, rest, numbers):
    assert terminal_numbers(contact(pattern, rest)) == numbers


def test_the_published_words_on_these_numbers():
    meaning = {row["terminal"]: f"{row['meaning']} {row['note']}" for row in rows("terminal_numbers_din72552.csv")}
    assert "contact input" in meaning["87"]
    assert "make-contact output" in meaning["87"]
    assert "break-contact output" in meaning["87a"]
    assert "make-relay contact input" in meaning["88"]
    assert "common contact" in meaning["30"]
    assert "positive" in meaning["86"]
    assert "negative" in meaning["85"]
    coil = Element(ref="K1 coil", kind="coil", pin_a="A.1", pin_b="A.2", pattern="socket")
    assert terminal_numbers(coil) == ("86", "85")


def test_fuse_colours_are_as_published():
    families = {"regular and mini": ("mini blade", "regular blade"), "maxi": ("maxi blade",)}
    looked = 0
    for row in rows("blade_fuses.csv"):
        if row["record"] != "colour":
            continue
        for family in families[row["fuse_family"]]:
            found = fuse_colours().get((family, float(row["rating_a"])))
            # Above 30 A the small body is not made in most ranges, so it has no row of its own.
            if found is None:
                assert family == "mini blade"
                assert float(row["rating_a"]) > 30
                continue
            assert row["colour"].split(" (")[0] == found
            looked += 1
    assert looked == len(fuse_colours())


def test_one_colour_means_two_ratings_in_two_bodies():
    """The reason why the sheet says: read the figure, never the colour alone."""
    assert fuse_colours()["regular blade", 20.0] == fuse_colours()["maxi blade", 20.0]
    assert fuse_colours()["regular blade", 10.0] == fuse_colours()["maxi blade", 50.0] == "red"

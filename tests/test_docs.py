"""What the manual promises is held to."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from halfshaft.files.reference import reference
from halfshaft.model.conversion import Shop

REPO = Path(__file__).parents[1]
SOURCE = "\n".join(path.read_text(encoding="utf-8") for path in sorted((REPO / "src").rglob("*.py")))
RULES = sorted(
    {
        *re.findall(r'rule="([a-z_]+\.[a-z-]+)"', SOURCE),
        *re.findall(r'"(mass\.[a-z]+-limit)"', SOURCE),
        *re.findall(r'"(enclosure\.[a-z-]+)"', SOURCE),
        "wires.load-unfed",
        "wires.no-ground",
    }
)


@pytest.mark.parametrize("rule", RULES)
def test_every_rule_is_explained_in_the_manual(rule: str) -> None:
    assert f"## {rule}\n" in (REPO / "docs" / "findings.md").read_text(encoding="utf-8")


def test_the_manual_explains_no_rule_that_is_not_there() -> None:
    explained = re.findall(r"^## (\S+)$", (REPO / "docs" / "findings.md").read_text(encoding="utf-8"), re.MULTILINE)
    assert explained == RULES


def test_the_file_reference_is_what_the_model_says() -> None:
    assert (REPO / "docs" / "files.md").read_text(encoding="utf-8") == reference()


def test_every_setting_named_in_the_manual_exists() -> None:
    text = "\n".join((REPO / "docs" / name).read_text(encoding="utf-8") for name in ("how-it-computes.md", "boards.md"))
    named = set(re.findall(r"`([a-z]+(?:_[a-z0-9]+)+)`", text))
    assert named <= set(Shop.model_fields), named - set(Shop.model_fields)
    assert len(named) > 8


@pytest.mark.parametrize("page", [*sorted(path.name for path in (REPO / "docs").glob("*.md")), "../README.md"])
def test_links_lead_somewhere(page: str) -> None:
    path = REPO / "docs" / page
    for target in re.findall(r"\]\(([^)#:]+)\)", path.read_text(encoding="utf-8")):
        assert (path.parent / target).exists(), target

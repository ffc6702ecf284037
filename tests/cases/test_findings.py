"""Every rule has a small change to the demo that raises it, and just it.

The demo is read once. A case names the rule, changes a row or two, and says what the finding must then hold. Expected
figures are worked out from the demo's tables, beside each case, and not read off the program.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Finding
from halfshaft.studies.looms.batch import stock_short
from halfshaft.studies.looms.board import lay_board
from halfshaft.studies.looms.board_rules import board_findings
from halfshaft.study import Study
from rule_cases.boards import BOARD_CASES, STOCK_CASE
from rule_cases.bus import BUS_CASES
from rule_cases.cable import CABLE_CASES
from rule_cases.car import CASES
from rule_cases.changes import Case, car, row
from rule_cases.high_voltage import HIGH_VOLTAGE_CASES
from rule_cases.hv_safety import HV_SAFETY_CASES
from rule_cases.low_voltage import LOW_VOLTAGE_CASES
from rule_cases.pack import PACK_CASES
from rule_cases.protection import PROTECTION_CASES

REPO = Path(__file__).parents[2]
STUDIES = REPO / "src" / "halfshaft" / "studies"
ALL_CASES = [
    *CASES,
    *PACK_CASES,
    *CABLE_CASES,
    *LOW_VOLTAGE_CASES,
    *HIGH_VOLTAGE_CASES,
    *HV_SAFETY_CASES,
    *PROTECTION_CASES,
    *BUS_CASES,
]


@cache
def demo() -> Conversion:
    return read_folder(REPO / "examples" / "tern")


@cache
def demo_study() -> Study:
    return Study(demo())


def after(case: Case) -> Study:
    conversion = demo()
    for change in case.do:
        conversion = change(conversion)
    return Study(conversion)


def new_in(found: tuple[Finding, ...], before: tuple[Finding, ...]) -> list[Finding]:
    known = {(item.rule, item.about) for item in before}
    return [item for item in found if (item.rule, item.about) not in known]


def held_against(case: Case, new: list[Finding]) -> Finding:
    """The case's finding, after everything about it has been looked at."""
    assert {item.rule for item in new} == {case.rule, *case.also}
    assert sum(item.rule == case.rule for item in new) == case.count
    (finding,) = [item for item in new if (item.rule, item.about) == (case.rule, case.about)]
    assert finding.level == case.level
    assert finding.unit == case.unit
    assert finding.basis.kind == case.basis
    assert str(finding.basis).startswith(case.basis)
    assert case.caution in finding.caution
    assert bool(finding.caution) == bool(case.caution)
    assert finding.text.endswith(".")
    assert not re.search(r"\bnan\b|\binf\b|\bNone\b|[\[({]'", finding.text)
    return finding


@pytest.mark.parametrize("case", ALL_CASES, ids=str)
def test_a_small_change_raises_just_this_rule(case):
    finding = held_against(case, new_in(after(case).design_findings, demo_study().design_findings))
    assert finding.value == (None if case.value is None else pytest.approx(case.value, abs=case.near))
    assert finding.limit == (None if case.limit is None else pytest.approx(case.limit, abs=1e-6))


@pytest.mark.parametrize("case", BOARD_CASES, ids=str)
def test_a_small_change_raises_just_this_rule_of_boards(case):
    study, loom = after(case), case.about[0]
    board = lay_board(study.conversion, study.routing.loom(loom), study.splice_places)
    finding = held_against(case, new_in(tuple(board_findings({loom: board})), demo_study().findings))
    if case.value is None and case.limit is not None:
        assert finding.value > finding.limit
    else:
        assert finding.value == (None if case.value is None else pytest.approx(case.value, abs=case.near))
        assert finding.limit == (None if case.limit is None else pytest.approx(case.limit, abs=case.near))
    assert {item.rule for item in new_in(study.design_findings, demo_study().design_findings)} == set(case.beside)


def test_stock_that_does_not_do_raises_just_that():
    study = after(STOCK_CASE)
    finding = held_against(STOCK_CASE, new_in(tuple(stock_short(study.batch)), demo_study().findings))
    assert (finding.value, finding.limit) == (1, 0)
    assert "one more length of 1.1 m would" in finding.text
    assert new_in(study.design_findings, demo_study().design_findings) == []


# The demo's own faults are left in on purpose; its README, "Expected findings" 1 to 4, and its notes.
IN_THE_DEMO = {
    "wires.voltage-drop", "looms.grommet-fill", "wires.no-ground", "wires.old-wire-unanswered", "mass.small-reserve", "wires.open-cavity", "handling.ride-height", "handling.brake-share",
    "wires.load-in-no-case", "wires.section-beyond-table", "looms.hv-near", "looms.clip-pitch", "looms.no-grommet", "wires.drain-seal",
    "pack.box-order", "pack.disconnect-uneven", "pack.joint-covered", "low_voltage.return-lost", "low_voltage.drain-unlisted",
    "high_voltage.precharge-shorted", "high_voltage.nobody-breaks", "protection.hot-air", "protection.not-selective", "protection.start-opens",
    "hv_safety.interlock-bolted",
}  # fmt: skip


@pytest.mark.parametrize("rule", sorted({case.rule for case in [*ALL_CASES, *BOARD_CASES, STOCK_CASE]} - IN_THE_DEMO))
def test_the_demo_as_it_is_does_not_raise_it(rule):
    assert [item for item in demo_study().findings if item.rule == rule] == []


OF_THE_DESIGN = (
    "mass.",
    "handling.",
    "mounts.",
    "boxes.",
    "spaces.",
    "enclosure.",
    "sensing.",
    "looms.",
    "wires.",
    "pack.",
    "low_voltage.",
    "cable.",
    "high_voltage.",
    "protection.",
    "hv_safety.",
    "bus.",
)


def test_what_the_demo_raises_is_known():
    ours = {item.rule for item in demo_study().findings if item.rule.startswith(OF_THE_DESIGN)}
    assert ours == IN_THE_DEMO


def test_every_finding_of_the_demo_has_a_basis_and_a_sentence():
    for item in demo_study().findings:
        assert item.basis.kind in ("published", "common practice", "from memory")
        assert item.basis.kind != "published" or item.basis.source
        assert item.text[0].isupper() or item.text[0].isdigit()
        assert item.text.endswith(".")


def rules_in(source: str) -> set[str]:
    """Names that look like a rule's in a module."""
    return {name for name in re.findall(r'"([a-z_]+\.[a-z]+(?:-[a-z]+)*)"', source) if not name.endswith((".csv", ".toml"))}


def test_every_rule_of_the_studies_has_a_case():
    """Also one that somebody adds tomorrow: this fails until it has one."""
    # What compares two conversions names fields, and raises nothing.
    sources = [path for path in sorted(STUDIES.rglob("*.py")) if path.parent.name != "changes"]
    found = set().union(*(rules_in(path.read_text(encoding="utf-8")) for path in sources))
    assert "mass.axle-limit" in found, "rules of a table are missed"
    cases = {case.rule for case in [*ALL_CASES, *BOARD_CASES, STOCK_CASE]}
    assert "wires.no-ground" in found, "rules of a tuple are missed"
    assert found == cases


def test_a_wire_to_a_point_that_no_run_reaches_says_so():
    conversion = row("tails", ("VS", "A"), point="R80")(demo())
    new = new_in(Study(conversion).design_findings, demo_study().design_findings)
    assert {item.rule for item in new} == {"looms.no-path", "looms.in-pieces"}
    without_way = [item for item in new if item.rule == "looms.no-path"]
    assert [item.about for item in without_way] == [("W111",), ("W155",)]
    assert "no run leads from R80 to R01" in without_way[0].text


def test_on_the_limit_is_not_over_it():
    """A fuse at 80.000 %, a stud with as many rings as it takes, a grommet and a plate just at their limits: nothing."""
    load_kg = max(stand.front_kg for stand in demo_study().mass.loaded)
    for change in (car(front_axle_kg=load_kg), row("ground_points", "GP1", rings_max=3)):
        assert new_in(Study(change(demo())).design_findings, demo_study().design_findings) == []
    assert [item for item in demo_study().findings if item.rule == "wires.fuse-too-small"] == []

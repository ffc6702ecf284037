"""The batch: every wire once a kit, sorted for the cutter; costs of looms that add up to the parts list."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import groupby
from pathlib import Path

import pytest

from halfshaft.book.frame import Pages
from halfshaft.book.sections.batch import batch as batch_section
from halfshaft.files.folder import read_folder
from halfshaft.model.conversion import Conversion
from halfshaft.model.wires import StockLength
from halfshaft.study import Study
from support import changed

DEMO = Path(__file__).parents[2] / "examples" / "tern"


@cache
def demo() -> Conversion:
    return read_folder(DEMO)


@cache
def study_of(kits: int, with_stock: bool = True) -> Study:
    conversion = changed(demo(), job=demo().job.model_copy(update={"kits": kits}))
    return Study(conversion if with_stock else changed(conversion, stock=()))


def pieces(study: Study) -> dict[str, dict[int, int]]:
    return {need.material.full_code: dict(need.pieces) for need in study.needs}


def test_each_wire_is_one_line_with_one_piece_a_kit():
    study = study_of(4)
    assert Counter(line.wire for line in study.batch.lines) == Counter(wire.ref for wire in demo().wires)
    assert {line.count for line in study.batch.lines} == {4}
    for line in study.batch.lines:
        assert line.cut_mm == study.routing.wires[line.wire].length.cut_mm


def test_a_reel_goes_on_once_and_the_longest_come_first():
    lines = study_of(4).batch.lines
    reels = [
        (kind, [line.cut_mm for line in found]) for kind, found in groupby(lines, lambda x: (x.section_mm2, x.insulation_class, x.colour))
    ]
    assert len(reels) == len({kind for kind, _ in reels})
    assert all(cut == sorted(cut, reverse=True) for _, cut in reels)


def test_ends_and_labels_are_those_of_the_wire():
    """W101 from a sealed cavity of the controller to one of the pedal: T12S is stripped 4.5 mm; 0.5 mm2 is 1.6 mm thick, so Q12a."""
    (line,) = [line for line in study_of(4).batch.lines if line.wire == "W101"]
    assert (line.start.strip_mm, line.start.terminal, line.start.seal) == (4.5, "T12S", "Q12a")
    assert line.start.label == "W101 VCU.A.1 → PED.A.1"
    assert line.end.label == "W101 PED.A.1 → VCU.A.1"


@pytest.mark.parametrize("kits", [2, 7])
def test_n_kits_are_n_times_one(kits):
    one, many = pieces(study_of(1)), pieces(study_of(kits))
    assert many == {code: {length: kits * count for length, count in found.items()} for code, found in one.items()}


def test_every_plan_cuts_just_what_is_needed():
    for item in study_of(4).batch.materials:
        cut: Counter[int] = Counter()
        for part in item.plan.cuts:
            for length, count in part.pieces:
                cut[length] += part.times * count
        assert cut == dict(item.need.pieces)
        assert not item.plan.missing
        assert item.plan.proven


def test_wire_of_two_classes_is_cut_from_its_own_reel():
    """0.5 BN is brown PVC in the cabin and brown cross-linked wire in the motor bay: not one reel."""
    plans = {item.need.material.full_code: item.plan for item in study_of(4).batch.materials}
    items = {row.ref: row.item for row in demo().stock}
    for code in ("0.5 BN B", "0.5 BN C"):
        assert {items[cut.stock.ref] for cut in plans[code].cuts} == {code}


def test_a_plain_code_is_enough_where_it_can_mean_one_thing():
    only = changed(demo(), stock=(StockLength(ref="X1", item="0.5 PK", length_mm=100_000.0),))
    (need,) = [need for need in Study(only).needs if need.stock]
    assert need.material.full_code == "0.5 PK B"


def test_tape_is_not_cut_to_pieces():
    assert "TAPE" not in pieces(study_of(4))
    assert any(line.code == "TAPE" for line in study_of(4).batch.totals)


def test_totals_of_one_kit_are_those_of_the_parts_list_and_spare_is_on_the_total():
    study = study_of(1)
    assert set(study.batch.totals) <= set(study.parts_list)
    one = {line.code: line for line in study.batch.totals if line.group == "terminals"}
    four = {line.code: line for line in study_of(4).batch.totals if line.group == "terminals"}
    assert {code: line.quantity - line.spare for code, line in four.items()} == {
        code: 4 * (line.quantity - line.spare) for code, line in one.items()
    }
    # Five splices a kit: one spare each kit for itself, one for all four together.
    assert (one["SPL"].quantity, one["SPL"].spare) == (6, 1)
    assert (four["SPL"].quantity, four["SPL"].spare) == (21, 1)


def test_tape_and_heat_shrink_come_with_spare_and_tube_without():
    lines = {line.code: line for line in study_of(4).batch.totals}
    needs = {need.material.code: need.needed_m for need in study_of(4).needs}
    # Five sleeves of 50 mm a kit: 1.0 m, and 5 % of it.
    assert needs["HS9"] == pytest.approx(1.0)
    assert lines["HS9"].spare == pytest.approx(0.05)
    assert lines["HS9"].quantity == pytest.approx(1.1)
    assert lines["T07"].spare == 0


def test_looms_together_weigh_and_cost_what_the_parts_list_says():
    study = study_of(1)
    costs = study.loom_costs
    wire_m = sum(laid.length.cut_mm for laid in study.routing.wires.values()) / 1000
    assert sum(cost.wire_m for cost in costs) == pytest.approx(wire_m)
    wires_kg = sum(entry.mass_kg for entry in study.mass.fitted if entry.ref in demo().wire)
    assert sum(cost.wire_kg for cost in costs) == pytest.approx(wires_kg)
    fitted = {
        group: sum(line.quantity - line.spare for line in study.parts_list if line.group == group) for group in ("terminals", "seals")
    }
    # Both ends of every core of a cable sit in terminals that belong to no loom.
    on_cables = 2 * len(demo().cable_cores)
    assert sum(cost.terminals for cost in costs) == fitted["terminals"] - on_cables
    assert sum(cost.seals + cost.plugs for cost in costs) == fitted["seals"]


def test_a_loom_by_hand():
    """Front sense loom: four wires of 0.5 mm2 (6.1 g and 0.14 EUR a metre), 6.28 m."""
    (cost,) = [cost for cost in study_of(1).loom_costs if cost.loom == "SF"]
    assert cost.wires == 4
    assert cost.wire_m == pytest.approx(6.28)
    assert cost.wire_kg == pytest.approx(6.28 * 6.1 / 1000)
    assert cost.wire_eur == pytest.approx(6.28 * 0.14)
    assert cost.unpriced == ()


def test_what_has_no_price_is_named_and_not_summed():
    rows = tuple(item.model_copy(update={"price_eur": None}) if item.ref == "T12S" else item for item in demo().terminals)
    before = {cost.loom: cost for cost in study_of(1).loom_costs}
    for cost in Study(changed(demo(), terminals=rows)).loom_costs:
        if cost.loom in ("FR", "SF"):
            assert cost.unpriced == ("T12S",)
            assert cost.fittings_eur < before[cost.loom].fittings_eur
        else:
            assert cost.price_eur <= before[cost.loom].price_eur


@pytest.mark.parametrize(("kits", "title"), [(1, "Batch for 1 kit"), (4, "Batch for 4 kits")])
def test_the_section_reads_well_for_one_kit_and_for_more(kits, title):
    pages = Pages()
    batch_section(study_of(kits), pages)
    (section,) = pages.sections
    assert section["title"] == title
    first = section["blocks"][0]["text"]
    assert ("one kit" in first) == (kits == 1)
    tables = [block for block in section["blocks"] if block["kind"] == "table"]
    assert len(tables[0]["rows"]) == sum(line.section_mm2 == 0.5 and line.insulation_class == "B" for line in study_of(kits).batch.lines)


def test_without_stock_only_the_metres_are_said():
    pages = Pages()
    study = study_of(4, with_stock=False)
    assert all(item.plan is None for item in study.batch.materials)
    batch_section(study, pages)
    headings = [block["text"] for block in pages.sections[0]["blocks"] if block["kind"] == "heading"]
    assert "No stock listed" in headings
    assert "Cutting from reels, coils and lengths" not in headings

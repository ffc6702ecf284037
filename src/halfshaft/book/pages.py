"""What the build book says, section by section, and its front page."""

from __future__ import annotations

from collections.abc import Mapping

from halfshaft.book.blocks import (
    Block,
    caution,
    facts,
    number,
    para,
)
from halfshaft.book.frame import APPROVAL_NOTICE, BATTERY_WARNING, HV_WARNING, LIFT_WARNING, Pages, count
from halfshaft.book.sections.batch import batch
from halfshaft.book.sections.bundles import bundles
from halfshaft.book.sections.buses import buses
from halfshaft.book.sections.cables import cables
from halfshaft.book.sections.car import car
from halfshaft.book.sections.changes import what_changed
from halfshaft.book.sections.commissioning import commissioning
from halfshaft.book.sections.connectors import connectors
from halfshaft.book.sections.crimps import crimps
from halfshaft.book.sections.diagrams import diagrams
from halfshaft.book.sections.electrics import fuses
from halfshaft.book.sections.fault_finder import fault_finder
from halfshaft.book.sections.findings import findings
from halfshaft.book.sections.handling import mounts
from halfshaft.book.sections.high_voltage import high_voltage
from halfshaft.book.sections.hv_safety import hv_safety
from halfshaft.book.sections.laying import run_out_list
from halfshaft.book.sections.low_voltage import low_voltage
from halfshaft.book.sections.mass import mass
from halfshaft.book.sections.pack import pack
from halfshaft.book.sections.protection import time_current
from halfshaft.book.sections.sensing import cell_sensing
from halfshaft.book.sections.spare import spare
from halfshaft.book.sections.testing import tests
from halfshaft.book.sections.wiring import cables_and_hoses, cut_list, from_to
from halfshaft.book.sections.workshop import boards, holes, parts
from halfshaft.drawings.diagrams.document import Diagrams
from halfshaft.drawings.shapes import Drawing
from halfshaft.studies.changes.records import Changes
from halfshaft.studies.mass import Stand
from halfshaft.study import Study


def pages_of(study: Study, drawings: Mapping[str, Drawing], sheets: Diagrams, changes: Changes | None = None) -> Pages:
    """The whole book after its front page; `drawings` are the boards by loom."""
    pages = Pages()
    if changes is not None:
        what_changed(changes, pages)
    for section in (
        findings,
        car,
        mass,
        mounts,
        pack,
        high_voltage,
        hv_safety,
        from_to,
        cut_list,
        batch,
        crimps,
        bundles,
        cables_and_hoses,
        spare,
        connectors,
        tests,
        cell_sensing,
        fuses,
        time_current,
        cables,
        buses,
        fault_finder,
        low_voltage,
        commissioning,
        parts,
        holes,
    ):
        section(study, pages)
    boards(study, pages, drawings)
    run_out_list(study, pages)
    diagrams(study, pages, sheets)
    return pages


def cover(study: Study) -> list[Block]:
    """The job, the key figures and the cautions."""
    job, result = study.conversion.job, study.mass
    counts = {level: sum(finding.level == level for finding in study.findings) for level in ("stop", "fix", "note")}
    wires = study.routing.wires
    has_hv = bool(study.conversion.cables or study.conversion.boxes)
    rows: list[tuple[str, str]] = [
        ("Mass, ready to drive", f"{number(result.finished.total_kg, 1)} kg (donor as weighed {number(result.donor.total_kg, 1)} kg)"),
        ("Front / rear axle", f"{number(result.finished.front_kg, 1)} / {number(result.finished.rear_kg, 1)} kg, {number(result.finished.front_percent, 1)} % on the front"),
        ("Centre of gravity", _centre_words(result.finished)),
        *_battery_rows(study),
        ("Looms", f"{len(study.routing.looms)} with {count(len(wires), 'wire')}, {number(sum(loom.cut_mm for loom in study.routing.looms) / 1000, 1)} m to cut; {count(len(study.boards), 'board')}"),
        ("Findings", f"{counts['stop']} that stop, {counts['fix']} to put right, {counts['note']} to know"),
    ]  # fmt: skip
    blocks = [para(job.task), facts(*rows)]
    blocks += [caution("WARNING", HV_WARNING), caution("WARNING", BATTERY_WARNING)] if has_hv else []
    return [*blocks, caution("WARNING", LIFT_WARNING), caution("NOTICE", APPROVAL_NOTICE)]


def _battery_rows(study: Study) -> list[tuple[str, str]]:
    """The battery, and what of it stays live whatever is pulled out."""
    battery = study.pack
    if battery is None:
        return []
    modules = sum(len(box.modules) for box in study.conversion.boxes)
    live = "; ".join(f"{' and '.join(piece.boxes)} up to {number(piece.full_v, 1)} V" for piece in battery.pieces)
    return [
        (
            "Battery",
            f"{count(modules, 'module')} in {count(len(study.conversion.boxes), 'box', 'boxes')}, {number(battery.energy_kwh, 1)} kWh; "
            f"{number(battery.nominal_v, 1)} V nominal, {number(battery.full_v, 1)} V full",
        ),
        ("Live at all times", f"{live}, each with the cables plugged to it"),
    ]


def _centre_words(stand: Stand) -> str:
    height = "height not known" if stand.z_mm is None else f"{number(stand.z_mm)} mm high"
    aside = number(abs(stand.y_mm))
    side = "right" if stand.y_mm > 0 else "left"
    across = "on the centre plane" if aside == "0" else f"{aside} mm to the {side}"
    return f"{number(stand.x_mm)} mm behind the front axle, {across}, {height}"

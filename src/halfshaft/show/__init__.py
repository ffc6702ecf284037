"""What one study found, as plain values for another program or as words for a screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfshaft.show import (
    battery,
    bus,
    cable,
    car,
    commissioning,
    fault_finder,
    high_voltage,
    hv_safety,
    looms,
    low_voltage,
    protection,
    readings,
)
from halfshaft.show.tables import plain, table
from halfshaft.studies.looms.bus import BUS
from halfshaft.study import Study


def as_plain(study: Study, name: str) -> Any:
    """Everything that a study found, as mappings, lists, words and numbers."""
    return plain(_RESULTS[name](study))


_RESULTS: dict[str, Callable[[Study], Any]] = {
    "mass": lambda study: study.mass,
    "handling": lambda study: study.handling,
    "mounts": lambda study: study.mounts,
    "looms": lambda study: study.routing,
    "wires": lambda study: study.wires,
    "low_voltage": lambda study: study.low_voltage,
    "pack": lambda study: {
        "pack": study.pack,
        "box_orders": study.box_orders,
        "module_orders": study.module_orders,
        "bars": study.loaded_bars,
        "joints": study.loaded_joints,
        "reaches": study.reaches,
    },
    "high_voltage": lambda study: study.high_voltage,
    "cable": lambda study: {"heat": study.cable_heat, "choices": study.cable_choices},
    "protection": lambda study: study.protection,
    "fault_finder": lambda study: study.fault_finder,
    "hv_safety": lambda study: study.hv_safety,
    "bus": lambda study: study.buses,
    "boards": lambda study: study.boards,
    "parts": lambda study: study.parts_list,
    "batch": lambda study: {"batch": study.batch, "loom_costs": study.loom_costs},
    "commissioning": lambda study: study.commissioning,
    "tests": lambda study: {**study.readings, **({BUS: study.bus_readings} if study.bus_readings else {})},
    "sensing": lambda study: {
        "looms": study.sensing.routing.looms if study.sensing else (),
        "tap_volts": study.tap_volts,
        "sheets": {name: sheet.readings for name, sheet in study.probe_sheets.items()},
    },
    "enclosures": lambda study: study.enclosures,
    "spaces": lambda study: study.space_facts,
    "findings": lambda study: study.findings,
}


def as_words(study: Study, name: str) -> str:
    """A table for a screen."""
    return _WORDS[name](study)


def _findings(study: Study) -> str:
    rows = [(f.level, f.rule, f.value, f.limit, f.unit, f.text) for f in study.findings]
    return table(("level", "rule", "found", "limit", "unit", "finding"), rows)


_WORDS: dict[str, Callable[[Study], str]] = {
    "mass": car.mass,
    "handling": car.handling,
    "mounts": car.mounts,
    "looms": looms.looms,
    "wires": looms.wires,
    "low_voltage": low_voltage.low_voltage,
    "pack": battery.pack,
    "high_voltage": high_voltage.high_voltage,
    "cable": cable.cable,
    "protection": protection.protection,
    "fault_finder": fault_finder.fault_finder,
    "hv_safety": hv_safety.hv_safety,
    "bus": bus.bus,
    "boards": looms.boards,
    "parts": looms.parts,
    "batch": looms.batch,
    "commissioning": commissioning.commissioning,
    "tests": readings.tests,
    "sensing": battery.sensing,
    "enclosures": battery.enclosures,
    "spaces": battery.spaces,
    "findings": _findings,
}

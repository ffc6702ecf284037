"""High-voltage safety as a whole: each question answered by its own module, put together here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from halfshaft.model.conversion import Conversion
from halfshaft.studies.hv_safety.bonding import Bonding, study_bonding
from halfshaft.studies.hv_safety.capacitance import Capacitances, study_capacitances
from halfshaft.studies.hv_safety.clearance import Distances, study_distances
from halfshaft.studies.hv_safety.insulation import Insulation, study_insulation
from halfshaft.studies.hv_safety.interlock import Interlock, trace_interlock
from halfshaft.studies.hv_safety.limits import limit_of
from halfshaft.studies.hv_safety.live import live_devices
from halfshaft.studies.hv_safety.marks import Marks, study_marks
from halfshaft.studies.hv_safety.outputs import Outputs, study_outputs
from halfshaft.studies.pack.study import Pack


@dataclass(frozen=True, kw_only=True, slots=True)
class HvSafety:
    """What each module found; None where the tables that it needs are empty."""

    interlock: Interlock | None
    insulation: Insulation | None
    capacitances: Capacitances | None
    bonding: Bonding
    distances: Distances
    marks: Marks
    outputs: Outputs | None


def study_hv_safety(conversion: Conversion, wire_ohm: Mapping[str, float], pack: Pack | None) -> HvSafety | None:
    """None without a battery in boxes or without a cable on a live pin, and for a pack of so few volts that it may be touched.

    `wire_ohm`: ohms of each wire at 20 C.
    """
    if pack is None or pack.full_v <= limit_of("class_a_dc") or not live_devices(conversion):
        return None
    return HvSafety(
        interlock=trace_interlock(conversion, wire_ohm),
        insulation=study_insulation(conversion, pack.full_v),
        capacitances=study_capacitances(conversion, pack.full_v),
        bonding=study_bonding(conversion),
        distances=study_distances(conversion, pack.full_v),
        marks=study_marks(conversion),
        outputs=study_outputs(conversion),
    )

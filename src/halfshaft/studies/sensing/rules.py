"""All rules of cell sensing."""

from __future__ import annotations

from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import COMMON_PRACTICE, HV_CAUTION, Finding
from halfshaft.studies.looms.lengths import bundle_at_most_mm
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.sensing.looms import loom_of
from halfshaft.studies.sensing.plugs import plug_findings, sense_boxes
from halfshaft.studies.sensing.trunk import room_above_mm
from halfshaft.studies.sensing.volts import no_volts


def sensing_findings(conversion: Conversion, inside: Routing | None) -> Iterator[Finding]:
    """Boards and plugs, then the looms as they are laid `inside` the boxes, then the volts of the taps."""
    yield from plug_findings(conversion)
    if inside is not None:
        yield from no_room(conversion, inside)
    yield from no_volts(conversion)


def no_room(conversion: Conversion, inside: Routing) -> Iterator[Finding]:
    """The sense loom of a box is thicker than the room between its modules and its lid."""
    laid = {loom.loom.ref: loom for loom in inside.looms}
    for item in sense_boxes(conversion):
        loom = laid.get(loom_of(conversion, item.box.ref))
        if loom is None:
            continue
        room_mm = room_above_mm(item.box)
        if all(bundle_at_most_mm(run.circles_mm, looseness=run.looseness) <= room_mm for run in loom.runs):
            continue
        thickest_mm = max(run.bundle_mm for run in loom.runs)
        if thickest_mm > room_mm:
            yield Finding(
                rule="sensing.no-room",
                level="fix",
                about=(item.box.ref, loom.loom.ref),
                text=f"The sense loom of {item.box.ref} is {thickest_mm:.0f} mm thick, and {max(room_mm, 0):.0f} mm are free between its modules and the lid: the lid would press it on live studs. Make the box higher.",
                value=thickest_mm,
                limit=room_mm,
                unit="mm",
                basis=COMMON_PRACTICE,
                caution=HV_CAUTION,
            )

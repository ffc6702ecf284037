"""What can be wrong with what covers a loom or protects it where it passes a panel."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halfshaft.model.conversion import Conversion
from halfshaft.model.finding import Basis, Finding, published
from halfshaft.model.parts import Covering
from halfshaft.standards import constants
from halfshaft.studies.looms.coverings import CoveredRun, CoveredSplice, Coverings, fill_limit_percent, goes_over, is_cool_enough

HEAT_SHRINK = published("NASA-STD-8739.4 (p. 47): heat-shrink as supplied is larger than the largest part that it goes over")
OWN_LIMIT = Basis("common practice", "a covering is not used above what the catalogue gives for it")


def covering_findings(conversion: Conversion, coverings: Coverings) -> Iterator[Finding]:
    """All rules of this study."""
    yield from grommet_fill(conversion, coverings)
    yield from tube_fill(coverings)
    yield from heat_shrink_too_small(coverings)
    yield from covering_too_cool(coverings)


def grommet_fill(conversion: Conversion, coverings: Coverings) -> Iterator[Finding]:
    """More goes through a grommet than its bore should hold, or something thicker than that."""
    limit = conversion.shop.grommet_fill_max_percent
    tube = constants()["tube_fill_percent"]
    basis = published(f"{tube.source}; for grommets common practice") if limit == tube.value else Basis("common practice", "shop setting")
    for filled in coverings.grommets:
        grommet = filled.grommet
        # One cable in a gland of its own is meant to fill it: only what is shared is judged by fill.
        if not filled.is_shared:
            if filled.thickest_mm > grommet.bore_mm:
                yield Finding(
                    rule="looms.grommet-bore",
                    level="stop",
                    about=(grommet.ref,),
                    text=f"Grommet {grommet.ref} ({grommet.panel}) has a bore of {grommet.bore_mm:g} mm; a cable of {filled.thickest_mm:g} mm has to pass.",
                    value=filled.thickest_mm,
                    limit=grommet.bore_mm,
                    unit="mm",
                    basis=Basis("common practice", "what does not fit cannot be passed"),
                )
        elif filled.fill_percent > limit:
            yield Finding(
                rule="looms.grommet-fill",
                level="fix",
                about=(grommet.ref, grommet.point or grommet.run or ""),
                text=f"Grommet {grommet.ref} ({grommet.panel}): {len(filled.passing)} wires make a bundle of {filled.bundle_mm:.1f} mm in a bore of {grommet.bore_mm:g} mm, {filled.fill_percent:.0f} % full; a bore of {math.ceil(filled.least_bore_mm)} mm or a hole of its own for the thickest cures it.",
                value=filled.fill_percent,
                limit=limit,
                unit="% of area",
                basis=basis,
            )


def tube_fill(coverings: Coverings) -> Iterator[Finding]:
    """A tube is fuller than its kind should be."""
    for covered in coverings.runs:
        named, fill = covered.named, covered.fill_percent
        if named is None or fill is None or named.kind == "heat-shrink" or fill <= fill_limit_percent(named):
            continue
        yield Finding(
            rule="looms.tube-fill",
            level="fix",
            about=(covered.run.ref, named.ref),
            text=f"Run {covered.run.ref}: a bundle of {covered.bundle_mm:.1f} mm fills {named.name} to {fill:.0f} %; {_cure(covered.smallest)}.",
            value=fill,
            limit=fill_limit_percent(named),
            unit="% of area",
            basis=published(constants()["tube_fill_percent"].source),
        )


def heat_shrink_too_small(coverings: Coverings) -> Iterator[Finding]:
    """The heat-shrink of a splice does not go over its wires."""
    for covered in coverings.splices:
        named = covered.named
        if named is None or named.bore_mm is None or goes_over(named, covered.joint_mm):
            continue
        yield Finding(
            rule="looms.heat-shrink-too-small",
            level="fix",
            about=(covered.splice.ref, named.ref),
            text=f"Splice {covered.splice.ref}: its wires make {covered.joint_mm:.1f} mm on the thicker side, and {named.name} has a bore of {named.bore_mm:g} mm; {_cure(covered.smallest)}.",
            value=covered.joint_mm,
            limit=named.bore_mm,
            unit="mm",
            basis=HEAT_SHRINK,
        )


def covering_too_cool(coverings: Coverings) -> Iterator[Finding]:
    """A covering lies where it is hotter than it stands."""
    runs: list[tuple[str, str, CoveredRun | CoveredSplice]] = [(f"Run {item.run.ref}", item.run.ref, item) for item in coverings.runs]
    splices = [(f"Splice {item.splice.ref}", item.splice.ref, item) for item in coverings.splices]
    for where, ref, item in (*runs, *splices):
        named, ambient_c = item.named, item.ambient_c
        if named is None or named.temperature_max_c is None or ambient_c is None or is_cool_enough(named, ambient_c):
            continue
        yield Finding(
            rule="looms.covering-too-cool",
            level="fix",
            about=(ref, named.ref),
            text=f"{where} lies where it gets {ambient_c:g} °C, and {named.name} is used up to {named.temperature_max_c:g} °C; {_cure(item.smallest)}.",
            value=ambient_c,
            limit=named.temperature_max_c,
            unit="°C",
            basis=OWN_LIMIT,
        )


def _cure(covering: Covering | None) -> str:
    return "nothing in the catalogue would do" if covering is None else f"{covering.ref} ({covering.name}) would do"

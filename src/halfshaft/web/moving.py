"""Moving a box, a module or a device in the car: what follows, worked out in memory at once; kept as a revision when it is dropped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from fastapi import APIRouter, Body
from pydantic import BaseModel, Field

from halfshaft.drawings.scene import scene_of
from halfshaft.model.finding import Finding
from halfshaft.studies.boxes import box_findings
from halfshaft.studies.handling_rules import handling_findings
from halfshaft.studies.looms.routing import Routing
from halfshaft.studies.mass import Stand
from halfshaft.studies.mass_rules import mass_findings
from halfshaft.studies.moving import Shift, in_the_way, moved
from halfshaft.study import Study
from halfshaft.web.answers import FindingOut
from halfshaft.web.api import By, Open, ShelfHere
from halfshaft.web.keeping import KeptOut, Why, keep
from halfshaft.web.shelf import Opened
from halfshaft.web.solids import solid_of

router = APIRouter(prefix="/api/conversions/{ref}/moves", tags=["hands on the car"])
FAR_MM = 20_000.0
Distance = Annotated[float, Field(ge=-FAR_MM, le=FAR_MM, allow_inf_nan=False)]


class ShiftIn(BaseModel):
    """A device, box or module by its ref, and how far it goes, in mm."""

    ref: str = Field(max_length=40)
    dx_mm: Distance = 0.0
    dy_mm: Distance = 0.0
    dz_mm: Distance = 0.0

    def shift(self) -> Shift:
        """For the study."""
        return Shift(ref=self.ref, by_mm=(self.dx_mm, self.dy_mm, self.dz_mm))


Shifts = Annotated[list[ShiftIn], Body(embed=True, min_length=1, max_length=50)]


class LoadOut(BaseModel):
    """What stands on an axle, or altogether: before the conversion, in this revision, and then; and what the type plate leaves."""

    name: str
    before_kg: float
    now_kg: float
    then_kg: float
    left_kg: float


class CentreOut(BaseModel):
    """The centre of gravity: from the front axle, to the right of the centre plane, above the ground (None: not known)."""

    x_mm: float
    y_mm: float
    z_mm: float | None
    front_percent: float

    @classmethod
    def of(cls, stand: Stand) -> CentreOut:
        """From the study."""
        return cls(x_mm=stand.x_mm, y_mm=stand.y_mm, z_mm=stand.z_mm, front_percent=stand.front_percent)


class LengthOut(BaseModel):
    """A cable, hose or wire whose cut length changes."""

    key: str
    ref: str
    kind: str
    was_mm: float
    is_mm: float


class WayOut(BaseModel):
    """Something in whose room it stands."""

    key: str
    ref: str


class MoveOut(BaseModel):
    """What follows. `findings` are those that are new, `cured` how many are gone; of mass, handling and boxes, not of everything."""

    loads: list[LoadOut]
    now: CentreOut
    then: CentreOut
    lengths: list[LengthOut]
    in_the_way: list[WayOut]
    findings: list[FindingOut]
    cured: int
    solids: list[dict[str, Any]]


@router.post("/try")
def try_moves(one: Open, shifts: Shifts) -> MoveOut:
    """What follows when things are moved by so much, one after the other; nothing is kept."""
    after = Study(moved(one.study.conversion, (item.shift() for item in shifts)))
    before = one.study
    known, new = {_said(item): item for item in _findings(before)}, {_said(item): item for item in _findings(after)}
    return MoveOut(
        loads=list(_loads(before, after)),
        now=CentreOut.of(before.mass.finished),
        then=CentreOut.of(after.mass.finished),
        lengths=sorted(_lengths(before.routing, after.routing), key=lambda item: (KINDS.index(item.kind), item.ref)),
        in_the_way=list(_in_the_way(one, after, shifts[-1].ref)),
        findings=[FindingOut.of(item, one.things) for said, item in new.items() if said not in known],
        cured=sum(said not in new for said in known),
        solids=_solids(one, after),
    )


@router.post("", status_code=201)
def keep_moves(
    shelf: ShelfHere, one: Open, by: By, shifts: Annotated[list[ShiftIn], Body(min_length=1, max_length=50)], reason: Why
) -> KeptOut:
    """Keep it so, as a revision with a reason."""
    return keep(shelf, one, lambda conversion: moved(conversion, (item.shift() for item in shifts)), by=by, reason=reason)


KINDS = ("cable", "hose", "wire")


def _findings(study: Study) -> Iterator[Finding]:
    """What can be said at once."""
    yield from mass_findings(study.conversion, study.mass)
    yield from handling_findings(study.conversion, study.handling)
    yield from box_findings(study.conversion)


def _said(finding: Finding) -> tuple[str, tuple[str, ...]]:
    """The same finding with another figure is not a new one."""
    return finding.rule, finding.about


def _loads(before: Study, after: Study) -> Iterator[LoadOut]:
    limits = before.conversion.car.limits
    rows = (
        ("front axle", "front_kg", limits.front_axle_kg),
        ("rear axle", "rear_kg", limits.rear_axle_kg),
        ("gross", "total_kg", limits.gross_kg),
    )
    for name, which, limit_kg in rows:
        donor, now, then = (float(getattr(stand, which)) for stand in (before.mass.donor, before.mass.finished, after.mass.finished))
        yield LoadOut(name=name, before_kg=donor, now_kg=now, then_kg=then, left_kg=limit_kg - then)


def _lengths(before: Routing, after: Routing) -> Iterator[LengthOut]:
    was, now = _cuts(before), _cuts(after)
    for (kind, ref), cut_mm in now.items():
        old_mm = was.get((kind, ref))
        if cut_mm is not None and old_mm is not None and cut_mm != old_mm:
            yield LengthOut(key=f"{kind}:{ref}", ref=ref, kind=kind, was_mm=old_mm, is_mm=cut_mm)


def _cuts(routing: Routing) -> dict[tuple[str, str], float | None]:
    """Cut lengths by kind and ref."""
    cables = {("cable", item.cable.ref): item.cut_mm for item in routing.cables}
    hoses = {("hose", item.hose.ref): item.cut_mm for item in routing.hoses}
    return {**cables, **hoses, **{("wire", ref): wire.length.cut_mm if wire.length else None for ref, wire in routing.wires.items()}}


def _in_the_way(one: Opened, after: Study, ref: str) -> Iterator[WayOut]:
    """What it would stand in."""
    for other in in_the_way(one.study.conversion, after.conversion, ref):
        thing = one.things.named(other)
        if thing is not None:
            yield WayOut(key=thing.key, ref=other)


def _solids(one: Opened, after: Study) -> list[dict[str, Any]]:
    """The solids of the scene that look different then."""
    before = {solid.name: solid for solid in one.held.scene}
    now = scene_of(after.conversion, after.routing, after.mass)
    return [solid_of(solid, one) for solid in now if before.get(solid.name) != solid]

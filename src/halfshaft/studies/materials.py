"""What is bought by the metre, kind by kind, with every piece that one kit takes of it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from halfshaft.model.codes import hose_code, wire_code
from halfshaft.model.conversion import Conversion
from halfshaft.model.parts import Covering
from halfshaft.studies.looms.routing import Routing

# Common practice: what one splice takes.
SLEEVE_OF_SPLICE_MM = 50.0
# Used up in short pieces, of which some go wrong: bought with the spare of terminals.
WITH_SPARE = ("tape", "sleeve", "heat-shrink")


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece for one kit: the wire, cable, run, splice or hose that it is for, its length, and the loom it is part of, if any."""

    ref: str
    length_mm: float
    loom: str | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Material:
    """One kind of wire, cable, covering or hose. `full_code` tells apart what has the same code; tape is not cut to pieces."""

    group: str
    code: str
    full_code: str
    name: str
    mass_g_per_m: float
    price_eur_per_m: float | None
    used_for: str
    pieces: tuple[Piece, ...]
    is_cut: bool = True
    has_spare: bool = False

    @property
    def length_m(self) -> float:
        """All pieces of one kit together."""
        return math.fsum(piece.length_mm for piece in self.pieces) / 1000


def materials(conversion: Conversion, routing: Routing) -> tuple[Material, ...]:
    """Everything by the metre: wire, then cables, coverings, hoses."""
    return (*_wire(conversion, routing), *_cables(conversion, routing), *_coverings(conversion, routing), *_hoses(routing))


def several(refs: list[str]) -> str:
    """The first few of them."""
    return ", ".join(refs[:8]) + (f" and {len(refs) - 8} more" if len(refs) > 8 else "")


def _wire(conversion: Conversion, routing: Routing) -> Iterator[Material]:
    pieces: dict[tuple[float, str, str], list[Piece]] = defaultdict(list)
    for laid in routing.wires.values():
        if laid.length is not None:
            wire = laid.wire
            pieces[wire.section_mm2, wire.insulation_class, wire.colour].append(Piece(wire.ref, laid.length.cut_mm, wire.loom))
    for (section, insulation, colour), found in sorted(pieces.items()):
        kind = conversion.wire_type[section]
        yield Material(
            group="wire",
            code=wire_code(section, colour),
            full_code=wire_code(section, colour, insulation),
            name=f"{kind.wall}-wall wire, class {insulation}",
            mass_g_per_m=kind.mass_g_per_m,
            price_eur_per_m=kind.price_eur_per_m,
            used_for="",
            pieces=tuple(found),
        )


def _cables(conversion: Conversion, routing: Routing) -> Iterator[Material]:
    pieces: dict[str, list[Piece]] = defaultdict(list)
    for laid in routing.cables:
        if laid.cut_mm is not None:
            pieces[laid.cable.cable_type].append(Piece(laid.cable.ref, laid.cut_mm))
    for ref, found in pieces.items():
        kind = conversion.cable_type[ref]
        yield Material(
            group="high-voltage cable",
            code=ref,
            full_code=ref,
            name=f"{kind.covering} cable {kind.cores} x {kind.section_mm2:g} mm²{', screened' if kind.screened else ''}".strip(),
            mass_g_per_m=kind.mass_g_per_m,
            price_eur_per_m=kind.price_eur_per_m,
            used_for=several([piece.ref for piece in found]),
            pieces=tuple(found),
        )


def _covered_runs(conversion: Conversion, routing: Routing) -> dict[str, Covering]:
    """What lies over each run in use that is covered."""
    used = {run.run for loom in routing.looms for run in loom.runs}
    used |= {step.run for cable in routing.cables if cable.route for step in cable.route.steps}
    return {run.ref: conversion.covering[run.covering] for run in conversion.runs if run.covering is not None and run.ref in used}


def _sleeved_splices(conversion: Conversion, routing: Routing) -> dict[str, Covering]:
    """What is shrunk over each splice that wires end in."""
    joined = {end.pin for laid in routing.wires.values() for end in (laid.start, laid.end) if end.is_splice}
    return {
        splice.ref: conversion.covering[splice.sleeve]
        for splice in conversion.splices
        if splice.sleeve is not None and splice.ref in joined
    }


def _coverings(conversion: Conversion, routing: Routing) -> Iterator[Material]:
    """Over each run once: where looms share it, what covers it belongs to the first of them."""
    looms = {run.run: laid.loom.ref for laid in reversed(routing.looms) for run in laid.runs}
    pieces: dict[str, list[Piece]] = defaultdict(list)
    for run, covering in _covered_runs(conversion, routing).items():
        pieces[covering.ref].append(Piece(run, routing.run_lengths[run].length_mm, looms.get(run)))
    for splice, covering in _sleeved_splices(conversion, routing).items():
        pieces[covering.ref].append(Piece(splice, SLEEVE_OF_SPLICE_MM, conversion.splice[splice].loom))
    for covering in conversion.coverings:
        if covering.ref in pieces:
            yield Material(
                group="covering",
                code=covering.ref,
                full_code=covering.ref,
                name=covering.name,
                mass_g_per_m=covering.mass_g_per_m,
                price_eur_per_m=covering.price_eur_per_m,
                used_for="splices" if covering.kind == "heat-shrink" else "length of the runs covered",
                is_cut=covering.kind != "tape",
                has_spare=covering.kind in WITH_SPARE,
                pieces=tuple(pieces[covering.ref]),
            )


def _hoses(routing: Routing) -> Iterator[Material]:
    pieces: dict[tuple[float, float, float, float | None], list[Piece]] = defaultdict(list)
    for laid in routing.hoses:
        if laid.cut_mm is not None:
            hose = laid.hose
            pieces[hose.bore_mm, hose.outside_mm, hose.mass_g_per_m, hose.price_eur_per_m].append(Piece(hose.ref, laid.cut_mm))
    for (bore, outside, mass, price), found in pieces.items():
        yield Material(
            group="hose",
            code=hose_code(bore),
            full_code=hose_code(bore, outside),
            name=f"coolant hose {bore:g} x {outside:g} mm",
            mass_g_per_m=mass,
            price_eur_per_m=price,
            used_for=several([piece.ref for piece in found]),
            pieces=tuple(found),
        )

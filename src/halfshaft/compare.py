"""Two descriptions of a car held against each other: gathers what studies and drawings say of each, and asks what follows."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator

from halfshaft.drawings.diagrams.document import Diagrams, diagrams_of
from halfshaft.drawings.labels import labels_of
from halfshaft.model.conversion import Conversion
from halfshaft.model.reading import Reading
from halfshaft.studies.changes.between import changes_between
from halfshaft.studies.changes.records import BoardChange, Changes, Printed, State
from halfshaft.studies.looms.board import Board, lay_board
from halfshaft.studies.looms.keeping import with_board
from halfshaft.studies.looms.kept import SAME_MM
from halfshaft.study import Study

# A holder turned by less than this is held as it was.
SAME_DEG = 0.5
Say = Callable[[str], object]


def compare(before: Study, after: Study, *, say: Say = lambda _words: None) -> Changes:
    """What differs between a car as it was and as it is to be, in the order in which the workshop must act.

    Boards are laid only for looms that differ. `say` is told what takes a moment.
    """
    if before.conversion == after.conversion:
        return changes_between(state_of(before), state_of(after), ())
    papers: list[tuple[Printed, ...]] = [(), ()]
    if after.conversion.model_copy(update={"job": before.conversion.job}) != before.conversion:
        say("drawing the wiring diagrams of both")
        papers = [tuple(_printed(study, before.conversion)) for study in (before, after)]
    boards = tuple(_boards(before, after, say))
    return changes_between(state_of(before, papers[0]), state_of(after, papers[1]), boards)


def state_of(study: Study, printed: tuple[Printed, ...] = ()) -> State:
    """One description with what the studies say of it, and its papers where they are held against each other."""
    return State(
        conversion=study.conversion,
        routing=study.routing,
        inside=study.sensing.routing if study.sensing else None,
        wires=study.wires,
        mass=study.mass,
        pack=study.pack,
        parts=study.parts_list,
        readings={**study.readings, **_readings_inside(study)},
        findings=study.design_findings,
        printed=printed,
    )


def _readings_inside(study: Study) -> dict[str, tuple[Reading, ...]]:
    """Of the battery boxes: looms by ohmmeter, and the volts of the cells."""
    looms = study.sensing.readings if study.sensing else {}
    return {**looms, **{name: sheet.readings for name, sheet in study.probe_sheets.items()}}


def _printed(study: Study, before: Conversion) -> Iterator[Printed]:
    """Labels and diagrams, drawn with the head of the earlier description: a new date alone makes no other sheet."""
    conversion = study.conversion.model_copy(update={"job": before.job})
    diagrams = diagrams_of(conversion, study.wires)
    yield from _labels(study, conversion, diagrams)
    sheets: dict[str, Hashable] = {**diagrams.drawings, **diagrams.cards}
    if sheets:
        yield Printed(kind="diagrams", ref=f"{before.job.ref}-WD", title="wiring diagrams", pieces=sheets)


def _labels(study: Study, conversion: Conversion, diagrams: Diagrams) -> Iterator[Printed]:
    labels = labels_of(conversion, study.routing, diagrams.references.wires)
    for loom in dict.fromkeys(label.loom for label in labels):
        pieces: dict[str, tuple[Hashable, ...]] = {}
        for label in labels:
            if label.loom == loom:
                pieces[label.wire] = (*pieces.get(label.wire, ()), label)
        yield Printed(kind="labels", ref=loom, title="labels of wires", pieces=pieces)


def _boards(before: Study, after: Study, say: Say) -> Iterator[BoardChange]:
    """Of every loom that is laid otherwise: its board as drilled, and as it has to be."""
    for ref in dict.fromkeys([*before.conversion.loom, *after.conversion.loom]):
        if ref in before.conversion.loom and ref in after.conversion.loom and _basis(before, ref) == _basis(after, ref):
            continue
        if ref not in after.conversion.loom:
            if before.conversion.loom[ref].board_width_mm is not None:
                yield BoardChange(loom=ref, pegs_were=None, pegs_are=None, moves=None, holders=(), in_folder=False)
            continue
        say(f"laying board {ref}")
        old = _board(before, ref, before.conversion)
        drilled = _drilled(before, after, ref, old)
        new = _board(after, ref, drilled)
        if old is not None or new is not None:
            yield BoardChange(
                loom=ref,
                pegs_were=None if old is None else len(old.pegs),
                pegs_are=None if new is None else len(new.pegs),
                moves=None if new is None else new.moves,
                holders=_moved_holders(before, after, ref, old, new),
                in_folder=_is_drilled(after.conversion, ref),
            )


def _basis(study: Study, ref: str) -> tuple[object, ...]:
    """All that a board is laid from."""
    conversion, laid = study.conversion, study.routing.loom(ref)
    plugs = [conversion.connector[tail.connector.split(".")[0], tail.connector.split(".")[1]] for tail in laid.tails]
    return (
        laid,
        [(plug.plug_length_mm, plug.plug_width_mm) for plug in plugs],
        conversion.shop.bend_radius_factor,
        conversion.shop.peg_diameter_mm,
        conversion.shop.peg_pitch_mm,
        {splice: place for splice, place in study.splice_places.items() if conversion.splice[splice].loom == ref},
        [row for row in conversion.board_ways if row.loom == ref and row.set_by == "hand"],
    )


def _moved_holders(before: Study, after: Study, ref: str, old: Board | None, new: Board | None) -> tuple[str, ...]:
    """Holders that stand elsewhere or turned on the drilled board. A longer tail is seen only here, where both boards are laid from one set of rows."""
    if old is None or new is None or new.moves is None:
        return ()
    rows = [tuple(row for row in study.conversion.board_ways if row.loom == ref) for study in (before, after)]
    was = {holder.connector: holder for holder in old.holders} if not _is_drilled(after.conversion, ref) or rows[0] == rows[1] else {}
    moved = {
        holder.connector
        for holder in new.holders
        if (old_one := was.get(holder.connector)) is not None
        and (math.dist(holder.at, old_one.at) > SAME_MM or abs((holder.heading_deg - old_one.heading_deg + 180) % 360 - 180) > SAME_DEG)
    }
    return tuple(sorted(moved | set(new.moves.holders)))


def _is_drilled(conversion: Conversion, ref: str) -> bool:
    return any(row.loom == ref and row.set_by == "drilled" for row in conversion.board_ways)


def _board(study: Study, ref: str, conversion: Conversion) -> Board | None:
    """The board of one loom, with the drilled rows of a conversion; the others are not laid."""
    if ref not in study.conversion.loom:
        return None
    return lay_board(conversion, study.routing.loom(ref), study.splice_places)


def _drilled(before: Study, after: Study, ref: str, old: Board | None) -> Conversion:
    """The later conversion with the board that is on the bench: the one written down there, else in the earlier one, else as the earlier one lays it."""
    if old is None or _is_drilled(after.conversion, ref) or ref not in after.conversion.loom:
        return after.conversion
    kept = with_board(before.conversion, before.routing.loom(ref), old)
    by_hand = {(row.from_node, row.to_node): row for row in after.conversion.board_ways if row.loom == ref}
    ways = [row for row in kept.board_ways if row.loom == ref and (row.from_node, row.to_node) not in by_hand]
    others = [row for row in after.conversion.board_ways if row.loom != ref]
    pegs = [peg for peg in after.conversion.board_pegs if peg.loom != ref]
    return after.conversion.model_copy(
        update={
            "board_ways": (*others, *by_hand.values(), *ways),
            "board_pegs": (*pegs, *(peg for peg in kept.board_pegs if peg.loom == ref)),
        }
    )

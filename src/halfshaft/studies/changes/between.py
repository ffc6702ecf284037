"""The whole report: from two descriptions and what the studies say of each to lines in the order of work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from halfshaft.studies.changes.battery import battery_changes
from halfshaft.studies.changes.cut import cut_changes
from halfshaft.studies.changes.edits import edits_between
from halfshaft.studies.changes.figures import figures_of
from halfshaft.studies.changes.fitted import fitted_changes
from halfshaft.studies.changes.looms import board_changes, splice_changes
from halfshaft.studies.changes.papers import finding_changes, paper_changes, test_changes
from halfshaft.studies.changes.purchase import purchases
from halfshaft.studies.changes.records import ACTS, BoardChange, Change, Changes, State
from halfshaft.studies.changes.rest import rest_changes
from halfshaft.studies.changes.sense_looms import sense_loom_changes
from halfshaft.studies.changes.told import Edits


def changes_between(before: State, after: State, boards: Sequence[BoardChange]) -> Changes:
    """What differs and what follows. `boards` are those that may have to change, as they are drilled and as they have to be."""
    edits = Edits(edits_between(before.conversion, after.conversion))
    lines = [
        *battery_changes(before, after, edits),
        *fitted_changes(before, after, edits),
        *cut_changes(before, after, edits),
        *sense_loom_changes(before, after),
        *splice_changes(before, after, edits),
        *board_changes(boards, edits),
    ]
    lines += purchases(before, after, lines)
    lines += test_changes(before, after, lines)
    lines += [*paper_changes(before, after, edits), *finding_changes(before, after)]
    lines += rest_changes(edits.all, lines)
    lines += _stops(lines)
    order = list(ACTS)
    return Changes(
        before=_name(before),
        after=_name(after),
        notes=tuple(_notes(before, after)),
        figures=figures_of(before, after),
        lines=tuple(sorted(lines, key=lambda line: order.index(line.act))),
        labour_eur_per_hour=after.conversion.shop.labour_eur_per_hour,
    )


def _name(state: State) -> str:
    job = state.conversion.job
    return f"{job.name}, {job.ref}, revision {job.revision} of {job.date}"


def _notes(before: State, after: State) -> Iterator[str]:
    old, new = before.conversion.job, after.conversion.job
    if old.ref != new.ref:
        yield f"These are two conversions, {old.ref} and {new.ref}, not one at two times: marks that both use may stand for different things."
    elif before.conversion != after.conversion and old.revision == new.revision:
        yield f"Both say revision {new.revision}: papers of the two cannot be told apart. Give the later one another revision."


def _stops(lines: Sequence[Change]) -> Iterator[Change]:
    """What must not be gone on with as it was: boxes, looms, cables and hoses that are made or cut again further down."""
    for kind, do in (
        ("box", "do not cut, weld, coat or fill it as it was"),
        ("loom", "cut and lay no more of it from the old lists"),
        ("sense loom", "cut and lay no more of it from the old list"),
        ("cable", "do not cut or crimp it from the old list"),
        ("hose", "do not cut it from the old list"),
    ):
        for ref, why in _stopped(kind, lines):
            yield Change(act="stop", kind=kind, ref=ref, quantity=kind, was=None, now=None, do=do, why=why)


def _stopped(kind: str, lines: Sequence[Change]) -> Iterator[tuple[str, str]]:
    """Marks of what is there already and has lines further down, each with the reason."""
    if kind != "loom":
        acts = ("make", "cut")
        yield from ((line.ref, line.why) for line in lines if line.kind == kind and line.act in acts and line.was is not None)
        return
    wires = Counter(line.about[0] for line in lines if line.kind == "wire" and line.act in ("cut", "unmake"))
    boards = [line.ref for line in lines if line.kind == "board" and line.act == "loom" and line.was is not None]
    for loom in dict.fromkeys([*wires, *boards]):
        count = wires[loom]
        words = [f"{count} of its wires {'changes' if count == 1 else 'change'}"] if count else []
        yield loom, " and ".join([*words, *(["its board changes"] if loom in boards else [])])

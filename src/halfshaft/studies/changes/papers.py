"""Papers to print again, sheets to fill again, and findings that came and went."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from halfshaft.model.finding import HV_CAUTION, Finding
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import Change, Printed, State
from halfshaft.studies.changes.told import Edits, count_words
from halfshaft.studies.materials import several


def paper_changes(before: State, after: State, edits: Edits) -> Iterator[Change]:
    """Papers whose ink changes, piece by piece, and the book as a whole."""
    was, now = ({(paper.kind, paper.ref): paper for paper in state.printed} for state in (before, after))
    for key in dict.fromkeys([*was, *now]):
        yield from _paper(was.get(key), now.get(key))
    if edits.all:
        old, new = before.conversion.job, after.conversion.job
        yield Change(
            act="print", kind="book", ref=new.ref, quantity="revision", was=old.revision, now=new.revision,
            do=f"print the book again; take revision {old.revision} off the bench" if old.revision != new.revision else f"give it another revision than {old.revision}, then print the book again",
            edits=edits.of("job", "", "revision", "date", "status", "drawn_by", "approved_by"),
        )  # fmt: skip


def _paper(old: Printed | None, new: Printed | None) -> Iterator[Change]:
    paper = new or old
    assert paper is not None
    was, now = (dict(side.pieces) if side is not None else {} for side in (old, new))
    changed = [name for name in now if name in was and was[name] != now[name]]
    added, gone = [name for name in now if name not in was], [name for name in was if name not in now]
    if not (changed or added or gone):
        return
    words = [f"print {several([*changed, *added])}"] if changed or added else []
    words += [f"take away {several(gone)}"] if gone else []
    minutes = allowances.LABELS if paper.kind == "labels" else 0.0
    yield Change(
        act="print", kind=paper.kind, ref=paper.ref, quantity=paper.title, was=len(was) if old else None, now=len(now) if new else None, do="; ".join(words), minutes=minutes
    )  # fmt: skip


def test_changes(before: State, after: State, lines: Sequence[Change]) -> Iterator[Change]:
    """Sheets with other readings, and what has been opened and so is tested again."""
    for loom in dict.fromkeys([*before.readings, *after.readings]):
        was, now = before.readings.get(loom), after.readings.get(loom)
        if was == now:
            continue
        known = {(reading.between, reading.state, reading.quantity): reading for reading in was or ()}
        other = [
            reading.number for reading in now or () if not _alike(known.get((reading.between, reading.state, reading.quantity)), reading)
        ]
        do = (
            "sheet no longer used"
            if now is None
            else f"{count_words(len(other), 'line')} read otherwise: use the new sheet and fill all of it"
        )
        yield Change(
            act="test", kind="test sheet", ref=loom, quantity="lines", was=None if was is None else len(was), now=None if now is None else len(now), do=do,
            minutes=0.0 if now is None else allowances.TEST_SHEET,
        )  # fmt: skip
    boxes = dict.fromkeys(
        ref for line in lines if line.act in ("unmake", "make", "fit") and line.kind in ("box", "module", "busbar", "joint")
        for ref in ((line.ref,) if line.kind == "box" else line.about)
    )  # fmt: skip
    for ref in (box.ref for box in after.conversion.boxes if box.ref in boxes):
        yield Change(
            act="test", kind="box", ref=ref, quantity="joints, polarity, insulation, volts at its taps", was=None, now=None, do="all of it, before its cables go on", caution=HV_CAUTION,
            why="it was opened or made again", minutes=allowances.BOX_TEST,
        )  # fmt: skip
    for line in lines:
        if line.kind == "cable" and line.act == "cut":
            yield Change(
                act="test", kind="cable", ref=line.ref, quantity="insulation, screen, end to end", was=None, now=None, do="before it goes in", why="it is cut again", caution=HV_CAUTION
            )  # fmt: skip


def _alike(old: object, new: object) -> bool:
    """Whether two lines read the same, whatever their number on the sheet."""
    if old is None:
        return False
    return all(getattr(old, name) == getattr(new, name) for name in ("expected", "low", "high", "unit", "wires"))


def finding_changes(before: State, after: State) -> Iterator[Change]:
    """New, gone, and otherwise; a new one that stops the work stands first in the report."""
    was, now = _by_rule(before.findings), _by_rule(after.findings)
    for rule, about in dict.fromkeys([*was, *now]):
        old, new = was.get((rule, about), []), now.get((rule, about), [])
        if [item.text for item in old] == [item.text for item in new]:
            continue
        gone, come = _rest(old, new), _rest(new, old)
        stops = any(item.level == "stop" for item in come) and not any(item.level == "stop" for item in old)
        do = "no longer found" if not new else "new: stops the work" if stops and not old else "new" if not old else "found otherwise"
        caution = next((item.caution for item in come if item.caution), "")
        yield Change(
            act="stop" if stops else "know", kind="finding", ref=", ".join(about) or rule, quantity=rule, was=" ".join(item.text for item in gone) or None,
            now=" ".join(item.text for item in come) or None, do=do, about=about, caution=caution if stops else "",
        )  # fmt: skip


def _by_rule(findings: Sequence[Finding]) -> dict[tuple[str, tuple[str, ...]], list[Finding]]:
    found: dict[tuple[str, tuple[str, ...]], list[Finding]] = defaultdict(list)
    for item in findings:
        found[item.rule, item.about].append(item)
    return found


def _rest(items: Sequence[Finding], known: Sequence[Finding]) -> list[Finding]:
    left = Counter(item.text for item in known)
    rest = []
    for item in items:
        if left[item.text]:
            left[item.text] -= 1
        else:
            rest.append(item)
    return rest

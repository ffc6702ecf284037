"""What changed since the car was described otherwise: what it does to the car, then the work in its order, to tick off."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from halfshaft.book.blocks import BOX, Block, Cell, bold, caution, column, facts, heading, number, para, small, table
from halfshaft.book.frame import BATTERY_WARNING, DEFER, HV_WARNING, Pages
from halfshaft.model.finding import HV_CAUTION
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import ACTS, Act, Change, Changes, Figure, Value
from halfshaft.studies.changes.words import asked, counted, money_words, summary, summary_rows

# What is not longer than this stands in a narrow column.
SHORT = 12


def what_changed(changes: Changes, pages: Pages) -> None:
    """All of it as one section of the book."""
    blocks = [
        facts(("As it was", changes.before), ("As it is to be", changes.after)),
        *opening(changes),
        heading("What it does to the car"),
        *figures(changes.figures),
    ]
    for act in ACTS:
        blocks += step(changes, act)
    pages.add("What changed", [*blocks, *closing(changes)])


def opening(changes: Changes) -> list[Block]:
    """Notes, what there is to do in numbers, and the cautions."""
    blocks = [para(f"Note. {note}") for note in changes.notes]
    steps = summary_rows(changes)
    return [*blocks, para(summary(changes)), *([facts(*steps)] if steps else []), *_cautions(changes)]


def _cautions(changes: Changes) -> Iterator[Block]:
    if any(line.kind in ("box", "module") and line.act != "know" for line in changes.lines):
        yield caution("WARNING", BATTERY_WARNING)
    if HV_CAUTION in changes.cautions:
        yield caution("WARNING", HV_WARNING)
    said = [text for text in changes.cautions if text != HV_CAUTION and not text.startswith("Modules are live")]
    yield from (caution("WARNING", f"{text} {DEFER}") for text in said)


def step(changes: Changes, act: Act) -> list[Block]:
    """One step of the work; nothing where there is nothing to do in it."""
    lines = changes.of(act)
    if not lines:
        return []
    valued = any(line.was is not None or line.now is not None for line in lines)
    done = act != "know"
    wordy = any(isinstance(value, str) and len(value) > SHORT for line in lines for value in (line.was, line.now))
    width: str | float = "1fr" if not done else 34.0 if wordy else 17.0
    columns = [
        column("Ref", 21.0), column("What", 27.0), *([column("Was", width), column("Is", width)] if valued else []),
        column("To do, and why", "1fr" if done else 36.0), *([column("Done, by", 18.0)] if done else []),
    ]  # fmt: skip
    rows = [_row(line, valued=valued, done=done) for line in lines]
    # Cells of several lines beside boxes want more air than the lines of a test sheet.
    listing = {**table(columns, rows, size=8.5, group=1), "airy": True}
    return [heading(f"{ACTS[act]}: {counted(lines)}" if done else ACTS[act]), listing]


def _row(line: Change, *, valued: bool, done: bool) -> list[Cell]:
    what = line.kind if line.quantity == line.kind else f"{line.kind}: {line.quantity}"
    values: list[Cell] = [_words(line.was, line.unit), _words(line.now, line.unit)] if valued else []
    return [bold(line.ref), what, *values, asked(line), *([BOX] if done else [])]


def _words(value: Value, unit: str) -> str:
    if value is None:
        return "–"
    if isinstance(value, str):
        return re.sub(r"(?<![\w.])-(?=\d)", "−", value)
    places = 0 if value == round(value) else 1 if abs(value) >= 10 else 2
    return f"{number(value, places)} {unit}".strip()


def figures(shown: Sequence[Figure]) -> list[Block]:
    """The car before and after."""
    if not shown:
        return [para("No figure of the car changes as far as it is printed.")]
    rows: list[list[Cell]] = [
        [figure.name, _figure(figure.was, figure), bold(_figure(figure.now, figure)), _by(figure), figure.unit] for figure in shown
    ]
    columns = [
        column("Figure", "1fr"), column("Was", 26.0, "right"), column("Is", 26.0, "right"), column("By", 26.0, "right"), column("Unit", 16.0),
    ]  # fmt: skip
    return [table(columns, rows)]


def _figure(value: float | None, figure: Figure) -> str:
    return "not known" if value is None else number(value, figure.decimals)


def _by(figure: Figure) -> str:
    if figure.was is None or figure.now is None:
        return ""
    words = number(figure.now - figure.was, figure.decimals)
    return words if words.startswith("−") else f"+{words}"


def closing(changes: Changes) -> list[Block]:
    """Money and hours."""
    if not changes.lines:
        return []
    return [heading("Money and hours"), para(money_words(changes)), small(f"Hours: {allowances.BASIS}. Prices: catalogue of this shop.")]

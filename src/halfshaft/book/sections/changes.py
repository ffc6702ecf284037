"""What changed since the car was described otherwise: what it does to the car, then the work in its order, to tick off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate, groupby

from halfshaft.book.blocks import BOX, Block, Cell, bold, caution, column, facts, heading, number, para, small, table
from halfshaft.book.frame import BATTERY_WARNING, DEFER, HV_WARNING, Pages
from halfshaft.model.finding import HV_CAUTION
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import ACTS, Act, Change, Changes, Figure, Value
from halfshaft.studies.changes.words import asked, counted, money_words, summary


def what_changed(changes: Changes, pages: Pages) -> None:
    """All of it as one section of the book."""
    blocks = [facts(("As it was", changes.before), ("As it is to be", changes.after)), *opening(changes), *figures(changes.figures)]
    for act in ACTS:
        blocks += step(changes, act)
    pages.add("What changed", [*blocks, *closing(changes)])


def opening(changes: Changes) -> list[Block]:
    """Notes, what there is to do in numbers, and the cautions."""
    blocks = [para(f"Note. {note}") for note in changes.notes]
    return [*blocks, para(summary(changes)), *_cautions(changes)]


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
    kinds = list(accumulate(len(list(alike)) for _, alike in groupby(lines, key=lambda line: line.kind)))
    return [heading(f"{ACTS[act]}: {counted(lines)}"), table(_columns(act), [_row(line, act) for line in lines], size=8.5, group=kinds)]


def _columns(act: Act) -> list[dict[str, object]]:
    columns = [column("Ref", 20.0), column("What", 23.0), column("Was", 31.0), column("Is", 31.0), column("To do, and why", "1fr")]
    return columns if act == "know" else [*columns, column("Done, by", 19.0)]


def _row(line: Change, act: Act) -> list[Cell]:
    what = line.kind if line.quantity == line.kind else f"{line.kind}: {line.quantity}"
    row: list[Cell] = [bold(line.ref), what, _words(line.was, line.unit), _words(line.now, line.unit), asked(line)]
    return row if act == "know" else [*row, BOX]


def _words(value: Value, unit: str) -> str:
    if value is None:
        return "–"
    if isinstance(value, str):
        return value
    places = 0 if value == round(value) else 1 if abs(value) >= 10 else 2
    return f"{number(value, places)} {unit}".strip()


def figures(shown: Sequence[Figure]) -> list[Block]:
    """The car before and after."""
    if not shown:
        return []
    rows: list[list[Cell]] = [
        [figure.name, _figure(figure.was, figure), bold(_figure(figure.now, figure)), _by(figure), figure.unit] for figure in shown
    ]
    columns = [
        column("Figure", "1fr"), column("Was", 26.0, "right"), column("Is", 26.0, "right"), column("By", 26.0, "right"), column("Unit", 16.0),
    ]  # fmt: skip
    return [heading("What it does to the car"), table(columns, rows)]


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

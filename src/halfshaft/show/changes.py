"""A change of mind, for another program or for a screen."""

from __future__ import annotations

from typing import Any

from halfshaft.show.tables import plain, table
from halfshaft.studies.changes import allowances
from halfshaft.studies.changes.records import ACTS, Changes, Figure
from halfshaft.studies.changes.words import asked, money_words, summary, summary_rows, value_words


def changes_plain(changes: Changes) -> Any:
    """A change of mind as mappings, lists, words and numbers."""
    sums = {
        "is_built_otherwise": changes.is_built_otherwise,
        "hours": changes.hours,
        "buy_eur": changes.buy_eur,
        "back_eur": changes.back_eur,
    }
    return {"summary": summary(changes), **sums, **plain(changes)}


def changes_words(changes: Changes) -> str:
    """A change of mind for a screen: what it does to the car, then every step of the work with what was and what is."""
    parts = [
        f"as it was:      {changes.before}\nas it is to be: {changes.after}",
        *(f"Note: {note}" for note in changes.notes),
        summary(changes),
    ]
    if steps := summary_rows(changes):
        width = max(len(name) for name, _ in steps)
        parts.append("\n".join(f"{name.ljust(width)}  {counts}" for name, counts in steps))
    if changes.figures:
        header = ("what it does to the car", "was", "is", "by", "unit")
        parts.append(table(header, [figure_row(figure) for figure in changes.figures]))
    for act, words in ACTS.items():
        rows = [
            (line.kind, line.ref, _short(line.quantity), _short(value_words(line.was, line.unit)), _short(value_words(line.now, line.unit)), asked(line))
            for line in changes.of(act)
        ]  # fmt: skip
        if rows:
            parts.append(f"{words.upper()}\n" + table(("what", "ref", "of it", "was", "is", "to do, and why"), rows))
    parts += [f"Caution: {caution}" for caution in changes.cautions]
    if changes.hours or changes.buy_eur or changes.back_eur:
        parts.append(f"{money_words(changes)}\nHours: {allowances.BASIS}.")
    return "\n\n".join(parts)


def figure_row(figure: Figure) -> tuple[str, ...]:
    """One figure of the car: its name, as it was, as it is, the difference, the unit."""
    numbers = ["" if value is None else f"{value + 0.0:.{figure.decimals}f}" for value in (figure.was, figure.now)]
    by = "" if figure.was is None or figure.now is None else f"{figure.now - figure.was:+.{figure.decimals}f}"
    return figure.name, *numbers, by, figure.unit


def _short(words: str, most: int = 44) -> str:
    """Cut for a column; everything stands in the JSON and in the paper."""
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"

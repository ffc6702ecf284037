"""The report in words that the screen and the paper share: counts, values, and what a line asks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from halfshaft.studies.changes.records import ACTS, Change, Changes, Value

SEVERAL = {"box": "boxes", "foot": "feet", "labels": "sets of labels", "diagrams": "sets of diagrams", "material": "materials"}
ONE = {"labels": "set of labels", "diagrams": "set of diagrams"}
NOTHING = "Nothing differs."
ONLY_WORDS = "Nothing that is built changes."
SOMETHING = "Something that is built changes."


def summary(changes: Changes) -> str:
    """Whether there is anything to do."""
    if not changes.lines:
        return NOTHING
    return SOMETHING if changes.is_built_otherwise else ONLY_WORDS


def summary_rows(changes: Changes) -> tuple[tuple[str, str], ...]:
    """What there is to do, counted step by step: `Make` and `2 boxes, 11 busbars`."""
    return tuple((ACTS[act], counted(changes.of(act))) for act in ACTS if act != "know" and changes.of(act))


def counted(lines: Iterable[Change]) -> str:
    """`2 boxes, 11 busbars`; things that have several lines are counted once."""
    counts = Counter(kind for kind, _ in dict.fromkeys((line.kind, line.ref) for line in lines))
    return ", ".join(f"{count} {_kind(kind, count)}" for kind, count in counts.items())


def _kind(kind: str, count: int) -> str:
    if kind.endswith("s") and kind not in ONE:
        # The name of a table whose rows are said as they stand.
        return f"{'row' if count == 1 else 'rows'} of {kind.replace('_', ' ')}"
    return ONE.get(kind, kind) if count == 1 else SEVERAL.get(kind, f"{kind}s")


def value_words(value: Value, unit: str = "") -> str:
    """A value as it is read: numbers without needless digits, with their unit."""
    if value is None:
        return "–"
    words = value if isinstance(value, str) else f"{value:.10g}"
    return f"{words} {unit}".strip()


def asked(line: Change) -> str:
    """What is done, and why."""
    return f"{line.do} ({line.why})" if line.why else line.do


def money_words(changes: Changes) -> str:
    """Money and hours, with what they rest on."""
    labour = changes.hours * changes.labour_eur_per_hour
    return (
        f"To buy {changes.buy_eur:.2f} EUR, as far as prices are known; left over, at its price, {changes.back_eur:.2f} EUR; "
        f"about {changes.hours:.1f} h of work, {labour:.0f} EUR at {changes.labour_eur_per_hour:g} EUR an hour. For one car."
    )
